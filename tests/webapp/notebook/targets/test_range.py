"""The range, step by step, against notebooks built by hand.

Sounding pitches by closed formula: 440 * 2 ** (cents / 1200) Hz. A B-flat soprano sounds a whole
tone lower than written (common practice, from memory). How a step stands follows from the rules of
the judge (`standing`): in tune within 10 cents, near from 10 flat to 25 sharp.
"""

import pytest

from analysis.finder import Strategy
from analysis.pitch import Register
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.notebook.targets.ranging import (
    D_FLAT,
    HALF,
    KEYS,
    STEP_CENTS,
    look,
    predict,
    prove,
    step,
)
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Role
from webapp.notebook.targets.choices import WordDraft, say_word
from webapp.notebook.targets.range import COLUMNS, StepState, open_range, tabulate_range
from webapp.notebook.targets.search import SearchQuery


@pytest.mark.parametrize(
    ("grid", "count"),
    # E3 to G6 are 39 semitones: 39 n + 1 steps of n to the semitone (closed formula); that the
    # soprano goes from E3 to G6 is common practice, from memory.
    [(12, 40), (24, 79), (48, 157)],
)
def test_the_ordinary_range_has_every_step_of_the_grid(
    notebook: Notebook, soprano: int, grid: int, count: int
) -> None:
    whole = look(notebook, soprano, grid)
    assert len(whole.steps) == count
    cents = [each.written.cents for each in whole.steps]
    assert cents == [5200 + STEP_CENTS[grid] * number for number in range(count)]


def test_up_to_c7_the_soprano_has_two_times_44_and_one_quarter_tones(
    notebook: Notebook, soprano: int
) -> None:
    # E3 to C7 are 12 * 4 - 4 semitones (closed formula); C7 is logged, and beyond the ordinary top.
    log(notebook, soprano, "C7", KEYS)
    whole = look(notebook, soprano)
    assert len(whole.steps) == 2 * 44 + 1
    assert whole.steps[-1].written.canonical == "C7"
    assert whole.outside == 0


def test_the_range_goes_up_to_where_it_sounds_and_not_to_a_slip_of_the_pen(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, "G6", KEYS), 9140)
    log(notebook, soprano, "C9", KEYS)
    whole = look(notebook, soprano)
    assert whole.steps[-1].written.cents == 9150
    assert whole.outside == 1


def test_what_sounds_below_the_lowest_note_is_counted_outside(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    low = log(notebook, soprano, "E3", KEYS)
    prove(take_maker, notebook, low, 5200 - 26)
    whole = look(notebook, soprano)
    assert whole.steps[0].written.canonical == "E3"
    assert whole.steps[0].state is StepState.ORDINARY
    assert whole.outside == 1
    prove(take_maker, notebook, log(notebook, soprano, "E3", KEYS), 5200 - 24.9)
    whole = look(notebook, soprano)
    assert whole.outside == 1, "half a step belongs to the range"
    assert whole.steps[0].state is StepState.ORDINARY, "and yet no lip closes 24.9 cents upwards"
    prove(take_maker, notebook, log(notebook, soprano, "E3", KEYS), 5200 - 10)
    assert look(notebook, soprano).steps[0].state is StepState.IN_TUNE


def test_an_extension_begins_lower_and_has_its_own_register(notebook: Notebook) -> None:
    # A bass to low C begins a third below one to low E flat (common practice, from memory).
    short = add_clarinet(notebook, "short", kind_id="b-flat-bass", layout_id="bass-low-eb")
    long = add_clarinet(notebook, "long", kind_id="b-flat-bass", layout_id="bass-low-c")
    assert look(notebook, short).steps[0].written.canonical == "Eb3"
    whole = look(notebook, long)
    assert whole.steps[0].written.canonical == "C3"
    assert whole.by_register()[0][0] is Register.EXTENSION


def test_a_bass_in_bass_clef_has_the_same_registers_an_octave_lower(notebook: Notebook) -> None:
    treble = add_clarinet(notebook, "treble", kind_id="b-flat-bass", layout_id="bass-low-eb")
    clef = add_clarinet(notebook, "clef", kind_id="b-flat-bass-bass-clef", layout_id="bass-low-eb")
    log(notebook, clef, "G3 +50", KEYS, layout_id="bass-low-eb")
    high, low = look(notebook, treble), look(notebook, clef)
    assert low.steps[0].written.canonical == "Eb2"
    assert [(name, len(steps)) for name, steps in low.by_register()] == [
        (name, len(steps)) for name, steps in high.by_register()
    ]
    assert [each.written.cents + 1200 for each in low.steps] == [
        each.written.cents for each in high.steps
    ]
    found = step(low, "G3+50c")
    assert (found.state, found.register) == (StepState.NOT_TRIED, Register.THROAT)


def test_filters_are_those_of_the_search(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, HALF, resistance=4), 7362)
    raised = log(notebook, soprano, D_FLAT, KEYS, resistance=2, strategy=Strategy.RAISED)
    predict(notebook, soprano, "E5-50c", -7.0)
    predict(notebook, soprano, "G5-50c", -7.0, keys_text=HALF, strategy="lowered")

    def states(**filters: object) -> tuple[StepState, StepState, StepState]:
        whole = look(notebook, soprano, 24, **filters)
        d, e, g = (step(whole, name).state for name in (D_FLAT, "E5-50c", "G5-50c"))
        return d, e, g

    near, predicted, not_tried, nothing = (
        StepState.NEAR, StepState.PREDICTED, StepState.NOT_TRIED, StepState.OPEN,
    )  # fmt: skip
    assert states() == (near, predicted, predicted)
    assert states(is_measured_only=True) == (near, nothing, nothing)
    assert states(is_without_half_holes=True) == (not_tried, predicted, nothing)
    assert states(highest_resistance=2) == (not_tried, nothing, nothing)
    assert states(strategy=Strategy.RAISED) == (not_tried, predicted, nothing)
    # the width widens the list and never the standing
    assert states(within_cents=1.0) == (near, predicted, predicted)
    assert states(within_cents=200.0) == (near, predicted, predicted)
    assert states(is_choice_only=True) == (nothing, nothing, nothing)
    say_word(notebook, raised, WordDraft(Role.MINE, "E5 -50"))
    assert states(is_choice_only=True) == (nothing, not_tried, nothing), "mine for that note alone"


def test_the_width_leaves_out_what_lies_aside_and_is_not_near(
    notebook: Notebook, soprano: int
) -> None:
    for target in ("D5-40c", "D5-50c", "D5-61c"):
        log(notebook, soprano, target, KEYS)
        log(notebook, soprano, target, KEYS, does_not_speak=True)
        predict(notebook, soprano, target, 0.0)
    found = step(look(notebook, soprano, within_cents=10.0), D_FLAT)
    assert (len(found.answer.ranked), found.silent) == (2, 2)
    found = step(look(notebook, soprano, within_cents=11.0), D_FLAT)
    assert (len(found.answer.ranked), found.silent) == (3, 3)
    predict(notebook, soprano, "E5-61c", 0.0)
    whole = look(notebook, soprano, within_cents=10.0)
    assert step(whole, "E5-50c").state is StepState.OPEN


def test_a_register_chooses_the_steps_and_keeps_what_counts_for_them(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    # Written for F#4 and a quarter tone in the chalumeau, it sounds a G4, which is a throat note.
    prove(take_maker, notebook, log(notebook, soprano, "F#4 +50", KEYS), 6690)
    whole = look(notebook, soprano, register=Register.THROAT)
    # G4 less a quarter tone to B flat 4: 6650 to 7000 in steps of 50 (closed formula).
    assert [each.written.cents for each in whole.steps] == list(range(6650, 7001, 50))
    assert step(whole, "G4").state is StepState.IN_TUNE
    assert whole.outside == 0
    empty = look(notebook, soprano, register=Register.EXTENSION)
    assert (empty.steps, empty.largest_gap) == ((), None)


def test_the_largest_gap_counts_open_steps_and_passes_over_ordinary_notes(
    notebook: Notebook, soprano: int
) -> None:
    whole = look(notebook, soprano)
    assert whole.largest_gap is not None
    assert whole.largest_gap.count == 39, "all quarter tones from E3 to G6"
    log(notebook, soprano, "D5-50c", KEYS)
    log(notebook, soprano, "F5-50c", KEYS)
    gap = look(notebook, soprano).largest_gap
    assert gap is not None
    # E3+50 to C5+50 hold 21 open quarter tones, F5 to G6 fewer (counted by hand).
    assert (int(gap.first.cents), int(gap.last.cents), gap.count) == (5250, 7250, 21)


def test_a_range_without_a_gap_has_none(notebook: Notebook) -> None:
    soprano = add_clarinet(notebook, "high", highest="G#6")
    whole = look(notebook, soprano, 12)
    assert whole.has_nothing
    assert whole.largest_gap is not None
    log(notebook, soprano, "G#6", KEYS)  # the only step without an ordinary fingering
    whole = look(notebook, soprano, 12)
    assert whole.largest_gap is None
    assert not whole.has_nothing


def test_what_lies_in_the_bin_or_belongs_to_another_instrument_does_not_count(
    notebook: Notebook, soprano: int
) -> None:
    put_in_bin(notebook, "fingering", log(notebook, soprano, "D5-50c", KEYS))
    other = add_clarinet(notebook, "other")
    log(notebook, other, "D5-50c", KEYS)
    log(notebook, other, "C7", KEYS)
    predict(notebook, other, "E5-50c", 0.0)
    whole = look(notebook, soprano)
    assert len(whole.steps) == 79
    assert whole.has_nothing
    put_in_bin(notebook, "instrument", soprano)
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        look(notebook, soprano)
    with pytest.raises(NotInNotebook, match="no instrument number 99"):
        look(notebook, 99)


@pytest.mark.parametrize(
    ("grid", "within", "field"),
    [(7, 25.0, "grid"), (24, 0.0, "within"), (24, 201.0, "within"),
     (24, float("nan"), "within")],
)  # fmt: skip
def test_what_cannot_be_shown_is_refused_beside_its_field(
    notebook: Notebook, soprano: int, grid: int, within: float, field: str
) -> None:
    with pytest.raises(FieldRefused) as refused:
        look(notebook, soprano, grid, within_cents=within)
    assert refused.value.field == field


def test_the_table_has_a_row_for_every_step(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    number = log(notebook, soprano, "D5-48c", KEYS, resistance=2)
    prove(take_maker, notebook, number, 7354)
    log(notebook, soprano, D_FLAT, KEYS)
    predict(notebook, soprano, "E5-50c", -7.0)
    rows = {str(row[0]): dict(zip(COLUMNS, row, strict=True)) for row in _table(notebook, soprano)}
    assert len(rows) == 79
    in_tune = rows[D_FLAT]
    uncertainty = in_tune.pop("uncertainty_cents")
    assert isinstance(uncertainty, float)
    assert uncertainty > 0
    assert in_tune == {
        "note": D_FLAT, "written_cents": 7350.0, "register": "clarion", "standing": "in tune",
        "offset_cents": 4.0, "takes": 1, "resistance": 2, "others": 1, "do_not_speak": 0,
        "target": "D5-48c", "keys": KEYS, "fingering": number, "choice": None, "solved": "yes",
        "instrument": "B-flat",
    }  # fmt: skip
    predicted = rows["E5-50c"]
    assert (predicted["standing"], predicted["offset_cents"]) == ("predicted", -7.0)
    assert (predicted["target"], predicted["takes"], predicted["keys"]) == ("E5-50c", None, None)
    assert rows["F5+50c"]["standing"] == "open"
    assert rows["F5+50c"]["offset_cents"] is None
    assert rows["F5+50c"]["solved"] is None


def _table(notebook: Notebook, instrument: int) -> list[tuple[object, ...]]:
    query = SearchQuery(instrument_id=instrument)
    return list(tabulate_range(open_range(notebook, instrument, query, has_texts=True)))


def test_the_instrument_of_the_range_can_be_read_after_it_is_closed(
    notebook: Notebook, soprano: int
) -> None:
    whole = look(notebook, soprano)
    assert whole.instrument.name == open_instrument(notebook, soprano).name
    assert whole.instrument.kind.clef == "treble"
