"""Overview chart of one instrument: its whole range, the best or chosen fingering of every step.

The judge says what is best, as everywhere. Where the notebook has nothing that serves, the ordinary
fingering stands, or what is to try, each said to be what it is.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from sqlalchemy.orm import Session

from analysis.keywork import OrdinaryFingering, fingerings_to_try, ordinary_fingerings
from analysis.pitch import EqualDivision, Side, WrittenPitch
from webapp.notebook.charts.charts import (
    ChartChoice,
    ComposedChart,
    Placed,
    check_size,
    describe_chart,
    entry_of,
    filter_rows,
    last_change,
    load_rows,
    name_file,
    read_ends,
)
from webapp.notebook.charts.pdf import ChartEntry, OverviewCell, OverviewSpec
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.targets.answers import Judge, read_judge
from webapp.notebook.targets.standing import Judged

STEPS = (12, 24, 48)


def compose_overview(notebook: Notebook, choice: ChartChoice, *, writing: Writing) -> ComposedChart:
    """Say what stands for each step of one instrument's range, rising.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: a range end cannot be read, or the range is upside down or holds nothing.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, choice.instrument_id)
        notes = _choose_notes(instrument, choice, writing)
        check_size(len(notes))
        judge = read_judge(session, instrument, filter_rows(choice))
        best = {written.cents: _best(judge, written, choice) for written in notes}
        rows = _load(session, best.values())
        as_of = last_change(session, instrument)
    listed = _listed(instrument)
    cells = tuple(
        _cell(written, best[written.cents], rows, listed.get(written.cents), instrument, judge)
        for written in notes
    )
    entries = tuple(cell.entry for cell in cells if cell.entry is not None)
    spec = describe_chart(instrument, choice, entries, as_of, writing)
    name = name_file(instrument, choice, as_of)
    return ComposedChart(OverviewSpec(spec, cells), name, len(cells))


def _choose_notes(
    instrument: Instrument, choice: ChartChoice, writing: Writing
) -> list[WrittenPitch]:
    low, high = read_ends(choice, instrument, writing)
    division = EqualDivision(choice.steps if choice.steps in STEPS else STEPS[1])
    first, last = low or instrument.lowest, high or instrument.top
    notes = list(division.between(first, last, Side.NEAREST)) if first < last else []
    if not notes:
        raise FieldRefused("high", "No step lies in this range. Choose a wider one.")
    return notes


def _best(judge: Judge, written: WrittenPitch, choice: ChartChoice) -> Judged | None:
    return judge.answer(written, is_choice_only=choice.is_choice_only).best


def _load(session: Session, best: Iterable[Judged | None]) -> dict[int, Fingering]:
    return load_rows(session, [each.facts.fingering_id for each in best if each is not None])


def _listed(instrument: Instrument) -> Mapping[Fraction, OrdinaryFingering]:
    """What the layout has for notes of the scale, by their written cents."""
    layout, kind = instrument.layout, instrument.kind
    every = (*ordinary_fingerings(layout), *fingerings_to_try(layout))
    return {
        kind.from_treble_notation(each.written).cents: each for each in every if each.choice == 1
    }


def _cell(
    written: WrittenPitch,
    best: Judged | None,
    rows: Mapping[int, Fingering],
    listed: OrdinaryFingering | None,
    instrument: Instrument,
    judge: Judge,
) -> OverviewCell:
    if best is not None:
        row = rows[best.facts.fingering_id]
        entry = replace(entry_of(row, Placed(written, best), instrument, judge), notes="")
        words = ["mine"] if best.is_choice else []
        words += [] if best.facts.is_measured else ["not tried"]
        return OverviewCell(written, entry, ", ".join(words), not best.facts.is_measured)
    if listed is None:
        return OverviewCell(written, None, "open")
    entry = ChartEntry(written, listed.fingering)
    words_of_ours = "to try" if listed.is_to_try else "ordinary"
    return OverviewCell(written, entry, words_of_ours, listed.is_to_try)
