"""Turns a chart's specification into what the template lays out: plain text, numbers, pictures.

Short texts stand in their entry. A note too long for that stands there with its beginning, and in
full at the end of the chart under a number, so that one long note never breaks the page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Any, TypeVar

from analysis.keywork import describe_changes, find_changes, spell_out
from analysis.pitch import NoteNames, SignSystem, WrittenPitch, format_cents, format_pitch
from webapp.drawing import (
    Profile,
    describe_offset,
    describe_staff,
    draw_fingering,
    draw_offset,
    draw_staff,
)
from webapp.drawing.figures import format_uncertainty
from webapp.drawing.fingering_file import draw_name
from webapp.drawing.staff import STAFF_VIEW_BOX, find_view_box
from webapp.notebook.charts.pdf.legend import (
    CAUTION,
    Swatch,
    explain_figures,
    list_key_forms,
    list_signs,
)
from webapp.notebook.charts.pdf.prose import Prose, clean_line, compose, prepare
from webapp.notebook.charts.pdf.spec import ChartEntry, ChartSpec, Paper

TYPST_PAPER = {Paper.A4: "a4", Paper.LETTER: "us-letter"}
_LONGEST_TITLE, _LONGEST_NAME, _LONGEST_FOOT = 160, 60, 100
_LONGEST_NOTE, _MOST_NOTE_LINES = 100, 4
_LONGEST_STRATEGY, _LONGEST_CHANGES, _LONGEST_TAGS = 110, 130, 60
_LONGEST_SETUP_LINE, _LONGEST_SETUP = 200, 600

# The standard library's month names follow the computer's language; the chart's is English.
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)

EMPTY_CHART = (
    "This chart is empty: no fingering was chosen for it. Choose a wider range or fewer filters, "
    "or log a first fingering for this instrument."
)

Fed = dict[str, Any]
"""JSON for the template; its shape is what `chart.typ` reads."""
Report = Callable[[float], None]
"""Told the share that is done, from 0 to 1; what it raises ends the work."""
_REPORTED_EVERY = 20
_Each = TypeVar("_Each")


def keep_silent(share: float) -> None:
    """Report to nobody."""
    del share


@dataclass(frozen=True, slots=True)
class LongNote:
    """A note that is printed in full at the end; the entry refers to its number."""

    number: int
    pitch: str
    text: Prose


def feed_chart(spec: ChartSpec, report: Report = keep_silent) -> Fed:
    """Everything the template needs, ready for JSON; `report` is told the share that is done."""
    long_notes = _collect_long_notes(spec)
    numbers = {place: note.number for place, note in long_notes.items()}
    return {
        **feed_head(spec),
        "entries": [
            _feed_entry(spec, entry, numbers.get(place))
            for place, entry in enumerate(reported(spec.entries, report))
        ],
        "long_notes": [asdict(note) for note in long_notes.values()],
        "legend": _feed_legend(spec),
    }


def feed_head(spec: ChartSpec) -> Fed:
    """What every kind of chart says of itself and its instrument."""
    return {
        "paper": TYPST_PAPER[spec.paper],
        "title": find_title(spec),
        "title_line": asdict(prepare(find_title(spec))),
        "instrument": asdict(_instrument_line(spec)),
        "setup": asdict(_setup(spec)),
        "foot": asdict(_foot(spec)),
        "empty": EMPTY_CHART,
    }


def reported(every: Sequence[_Each], report: Report) -> Iterator[_Each]:
    """Go through the entries of a chart and report, every so often, the share that is done."""
    for place, each in enumerate(every):
        if place % _REPORTED_EVERY == 0:
            report(place / len(every))
        yield each


def find_title(spec: ChartSpec) -> str:
    """The player's title in one line, or what stands in for an empty one."""
    title = clean_line(spec.title, longest=_LONGEST_TITLE)
    name = clean_line(spec.instrument_name, longest=_LONGEST_NAME)
    return title or name or "Fingerings"


def format_date(day: date) -> str:
    """A date as people write it, the same under every locale.

    >>> format_date(date(2026, 3, 14))
    '14 March 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _setup(spec: ChartSpec) -> Prose:
    lines = (clean_line(line, longest=_LONGEST_SETUP_LINE) for line in spec.setup_lines)
    return compose(lines, " · ", longest=_LONGEST_SETUP)


def _instrument_line(spec: ChartSpec) -> Prose:
    name, kind = (
        clean_line(text, longest=_LONGEST_NAME) for text in (spec.instrument_name, spec.kind_name)
    )
    return compose((name, kind, _tuning(spec), _count(spec)), " · ")


def _count(spec: ChartSpec) -> str:
    count = len(spec.entries)
    fingerings = "1 fingering" if count == 1 else f"{count} fingerings"
    predicted = sum(entry.prediction is not None for entry in spec.entries)
    return f"{fingerings}, {predicted} only predicted" if predicted else fingerings


def _tuning(spec: ChartSpec) -> str:
    return f"A = {spec.tuning_a_hz:g} Hz" if spec.has_evidence else ""


def _foot(spec: ChartSpec) -> Prose:
    setup = "; ".join(
        filter(None, (clean_line(line, longest=_LONGEST_FOOT) for line in spec.setup_lines))
    )
    parts = (
        clean_line(spec.instrument_name, longest=_LONGEST_NAME),
        clean_line(setup, longest=_LONGEST_FOOT),
        _tuning(spec),
        f"as of {format_date(spec.as_of)}" if spec.as_of else "",
    )
    return compose(parts, " · ")


def _collect_long_notes(spec: ChartSpec) -> dict[int, LongNote]:
    """The notes that don't fit their entry, by the entry's place in the chart."""
    found: dict[int, LongNote] = {}
    for place, entry in enumerate(spec.entries):
        if _short_note(entry).is_shortened:
            pitch = format_pitch(entry.written.to_be_read(), names=spec.names, style="words")
            found[place] = LongNote(len(found) + 1, pitch, prepare(entry.notes))
    return found


def _short_note(entry: ChartEntry) -> Prose:
    return prepare(entry.notes, longest=_LONGEST_NOTE, most_lines=_MOST_NOTE_LINES)


def _feed_entry(spec: ChartSpec, entry: ChartEntry, long_note: int | None) -> Fed:
    tags = " · ".join(filter(None, (clean_line(tag, longest=30) for tag in entry.tags)))
    changes = _changes(entry)
    return {
        "pitch": format_pitch(entry.written.to_be_read(), names=spec.names, style="words"),
        "name": feed_name(spec, entry.written),
        **_feed_evidence(spec, entry),
        "staff": feed_staff(spec, entry.written),
        "fingering": feed_fingering(spec, entry, changes=changes),
        "resistance": entry.resistance,
        "half_hole": entry.fingering.has_half_hole,
        "predicted": entry.prediction is not None,
        "strategy": asdict(prepare(entry.strategy, longest=_LONGEST_STRATEGY, most_lines=2)),
        "changes": clean_line(changes, longest=_LONGEST_CHANGES),
        "notes": asdict(_short_note(entry)),
        "long_note": long_note,
        "tags": asdict(prepare(tags, longest=_LONGEST_TAGS, most_lines=1)),
    }


def _feed_evidence(spec: ChartSpec, entry: ChartEntry) -> Fed:
    """The number with its ±, the rule, and on how many takes it stands; or what there is not."""
    figure, spread = find_figure(spec, entry)
    fed: Fed = {"figure": figure, "spread": spread, "rule": None, "takes": ""}
    predicted, offset, uncertainty = entry.prediction, entry.offset_cents, entry.uncertainty_cents
    if predicted is not None:
        offset, uncertainty = predicted.offset_cents, predicted.sigma_cents
    if not spec.has_evidence or entry.does_not_speak or offset is None:
        return fed
    tolerance = entry.tolerance_cents or spec.tolerance_cents
    is_predicted = predicted is not None
    rule = draw_offset(offset, uncertainty, tolerance_cents=tolerance, is_predicted=is_predicted)
    words = describe_offset(
        offset, uncertainty, tolerance_cents=tolerance, is_predicted=is_predicted
    )
    takes = "1 take" if entry.take_count == 1 else f"{entry.take_count} takes"
    return {
        **fed,
        "rule": {"svg": rule, "alt": words},
        "takes": "not measured" if is_predicted else takes,
    }


def find_figure(spec: ChartSpec, entry: ChartEntry) -> tuple[str, str]:
    """Find the number of an entry and its ±, as on the screen; or the words for what there is not.

    A prediction is in whole cents and says what it is.
    """
    if not spec.has_evidence:
        return "", ""
    if entry.prediction is not None:
        offset, sigma = entry.prediction.offset_cents, entry.prediction.sigma_cents
        return f"predicted {format_cents(offset, decimals=0)}", f"± {sigma:.0f}"
    if entry.does_not_speak:
        return "does not speak", ""
    if entry.offset_cents is None:
        return "not tried", ""
    uncertainty = entry.uncertainty_cents
    spread = "" if uncertainty is None else f"± {format_uncertainty(uncertainty)}"
    return format_cents(entry.offset_cents), spread


def feed_staff(spec: ChartSpec, written: WrittenPitch, *, is_close: bool = False) -> Fed:
    """Draw a note on its staff, with its words; if `is_close` no taller than it needs."""
    return _draw_note(
        written, written.sign_cents, spec.accidental_style, spec.clef, spec.names, is_close=is_close
    )


@lru_cache(maxsize=256)
def _draw_note(
    written: WrittenPitch,
    sign_cents: Fraction | None,
    style: SignSystem,
    clef: str,
    names: NoteNames,
    *,
    is_close: bool,
) -> Fed:
    # once, since many fingerings may stand for one note; the spelling is no part of its equality
    del sign_cents
    words = describe_staff(written, style=style, names=names)
    box = find_view_box([(written, clef)]) if is_close else STAFF_VIEW_BOX
    svg = draw_staff(written, style=style, clef=clef, names=names, view_box=box)
    return {"svg": svg, "alt": f"Staff: {words}"}


def feed_name(spec: ChartSpec, written: WrittenPitch) -> Fed:
    """Draw the name of a note with its sign, one line high, with its words."""
    return _draw_name(written, written.sign_cents, spec.accidental_style, spec.names)


@lru_cache(maxsize=256)
def _draw_name(
    written: WrittenPitch, sign_cents: Fraction | None, style: SignSystem, names: NoteNames
) -> Fed:
    del sign_cents
    svg = draw_name(written, style=style, names=names)
    return {"svg": svg, "alt": format_pitch(written.to_be_read(), names=names, style="words")}


def feed_fingering(
    spec: ChartSpec,
    entry: ChartEntry,
    *,
    profile: Profile = Profile.PRINT,
    changes: str | None = None,
) -> Fed:
    """Draw the keys of an entry with their words.

    They are marked against the entry's base where the changes from it are given in words.
    """
    base = None if changes is None else entry.base
    svg = draw_fingering(
        entry.fingering, base=base, profile=profile, names=spec.names, id_prefix="f"
    )
    words = f"Fingering: {spell_out(entry.fingering)}" + (f"; {changes}" if changes else "")
    return {"svg": svg, "alt": words}


def _changes(entry: ChartEntry) -> str:
    if entry.base is None:
        return ""
    return describe_changes(find_changes(entry.base, entry.fingering))


def _feed_legend(spec: ChartSpec) -> Fed:
    return {
        "signs": _feed_swatches(list_signs(spec)),
        "keys": _feed_swatches(list_key_forms(spec.entries)),
        "figures": explain_figures(spec),
        "caution": CAUTION,
    }


def _feed_swatches(swatches: Sequence[Swatch]) -> list[Fed]:
    return [asdict(swatch) for swatch in swatches]
