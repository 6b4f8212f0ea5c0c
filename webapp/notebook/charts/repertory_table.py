"""Table of what a player has, as CSV: a row a step, then a row a trill or tremolo."""

from collections.abc import Iterator

from analysis.keywork import format_fingering
from analysis.pitch import WrittenPitch, format_cents, format_pitch
from webapp.drawing.figures import round_uncertainty
from webapp.notebook.charts.repertory import Repertory, RepertoryStep
from webapp.notebook.csv_tables import Cell, write_csv

HEADER = (
    "kind", "note", "written", "other_note", "other_written", "interval_cents", "standing",
    "offset_cents", "uncertainty_cents", "takes", "dynamics", "remarks", "fingering",
    "other_fingering", "evidence", "other_evidence", "fingers", "effort",
)  # fmt: skip


def write_repertory_table(page: Repertory) -> str:
    """Write what a player has; trills only as far as there are any."""
    return write_csv(HEADER, (*_list_steps(page), *_list_trills(page)))


def _list_steps(page: Repertory) -> Iterator[list[Cell]]:
    for step in page.steps:
        judged = step.judged
        facts = judged.facts if judged else None
        uncertainty = facts.uncertainty_cents if facts else None
        yield [
            "step",
            _name(page, step.written),
            step.written.canonical,
            *("", "", None),
            step.words,
            _round(judged.offset_cents if judged else None),
            None if uncertainty is None else round_uncertainty(uncertainty),
            facts.take_count if facts else None,
            write_dynamics(step),
            ", ".join(step.remarks),
            step.keys_text,
            *("", "", "", None, None),
        ]


def _list_trills(page: Repertory) -> Iterator[list[Cell]]:
    for step in page.trills:
        if step.pair is None or step.grade is None:
            continue
        pair, upper = step.pair, step.upper
        yield [
            "trill",
            _name(page, step.lower),
            step.lower.canonical,
            _name(page, upper),
            upper.canonical,
            step.interval_cents,
            step.grade.value,
            *(None, None, None, "", ""),
            format_fingering(pair.lower.fingering),
            format_fingering(pair.upper.fingering),
            pair.lower.backing.value,
            pair.upper.backing.value,
            pair.cost.finger_count,
            round(pair.cost.cost, 2),
        ]


def write_dynamics(step: RepertoryStep) -> str:
    """Write at which dynamics a step was recorded, and where it sounds there.

    For example `pp +4, mf 0, ff −6`: whole cents from the note.
    """
    return ", ".join(
        f"{each.dynamic} {format_cents(each.offset_cents, decimals=0)}" for each in step.dynamics
    )


def _name(page: Repertory, written: WrittenPitch) -> str:
    return format_pitch(written.to_be_read(), names=page.writing.names, style="words")


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 1)
