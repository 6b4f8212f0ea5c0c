"""The range, step by step, against notebooks built by hand.

Sounding pitches by closed formula: 440 * 2 ** (cents / 1200) Hz. A B-flat soprano sounds a whole
tone lower than written (common practice, from memory).
"""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import insert

from analysis.finder import Strategy
from analysis.pitch import EqualDivision, Register, WrittenPitch
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.errors import FieldRefused, NotInNotebook
from webapp.models import Fingering, Suggestion, TryState
from webapp.notebook import Notebook
from webapp.services.bin import put_in_bin
from webapp.services.instruments import open_instrument
from webapp.services.range import (
    COLUMNS,
    RangeStep,
    Standing,
    WholeRange,
    open_range,
    tabulate_range,
)
from webapp.services.search import SearchQuery, search_target

KEYS = "T R 123 | 12-"
HALF = "T R (1)23 | 12-"
D_FLAT = "D5-50c"  # a quarter tone, 7350 written cents
STEP_CENTS = {12: 100, 24: 50, 48: 25}


@pytest.fixture
def soprano(notebook: Notebook) -> int:
    """A B-flat soprano at A = 440."""
    return add_clarinet(notebook)


def look(notebook: Notebook, instrument: int, grid: int = 24, **query: object) -> WholeRange:
    """Open the range; a fingering counts as far as half a step unless the test says otherwise."""
    facts: dict[str, object] = {"tolerance_cents": STEP_CENTS.get(grid, 50) / 2, **query}
    wanted = SearchQuery(instrument_id=instrument, **facts)  # type: ignore[arg-type] # as there
    return open_range(notebook, instrument, wanted, steps_per_octave=grid)


def step(whole: WholeRange, canonical: str) -> RangeStep:
    """Return one step."""
    (found,) = [each for each in whole.steps if each.written.canonical == canonical]
    return found


def written_hz(cents: float) -> float:
    """What written cents sound on a B-flat instrument at A = 440."""
    return float(440 * 2 ** ((cents - 200 - 6900) / 1200))


def prove(take_maker: TakeMaker, notebook: Notebook, fingering: int, written_cents: float) -> None:
    """Attach a take that sounds at these written cents."""
    take_maker(notebook, fingering, written_hz(written_cents), uncertainty_cents=0.5)


def predict(
    notebook: Notebook, instrument: int, target: str, offset_cents: float, **facts: object
) -> None:
    """Put a try on the list, with what was predicted for it."""
    row: dict[str, object] = {
        "instrument_id": instrument,
        "target_text": target,
        "keys_text": KEYS,
        "strategy": "raised",
        "predicted_offset_cents": offset_cents,
        "predicted_sigma_cents": 12.0,
        "method_version": "finder-test",
        **facts,
    }
    with notebook.database.writing() as session:
        session.add(Suggestion(**row))


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
    assert whole.steps[0].standing is Standing.ORDINARY
    assert whole.outside == 1
    prove(take_maker, notebook, log(notebook, soprano, "E3", KEYS), 5200 - 24.9)
    assert look(notebook, soprano).steps[0].standing is Standing.PROVEN


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
    assert (found.standing, found.register) == (Standing.LOGGED, Register.THROAT)


def test_every_standing_is_told_apart(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, KEYS, resistance=2), 7354)
    predict(notebook, soprano, "E5-50c", -7.0)
    log(notebook, soprano, "F5+50c", KEYS)
    log(notebook, soprano, "G5+50c", KEYS, does_not_speak=True)
    whole = look(notebook, soprano)
    proven = step(whole, D_FLAT)
    assert proven.standing is Standing.PROVEN
    assert proven.offset_cents == pytest.approx(4.0, abs=1e-6)
    assert proven.uncertainty_cents is not None
    assert proven.best is not None
    assert proven.best.resistance == 2
    predicted = step(whole, "E5-50c")
    assert predicted.standing is Standing.PREDICTED
    assert (predicted.offset_cents, predicted.uncertainty_cents) == (-7.0, 12.0)
    assert step(whole, "F5+50c").standing is Standing.LOGGED
    failed = step(whole, "G5+50c")
    assert (failed.standing, failed.silent, failed.others) == (Standing.OPEN, 1, 0)
    assert step(whole, "G5").standing is Standing.ORDINARY
    assert step(whole, "A5+50c").standing is Standing.OPEN
    counts = {standing: whole.count(standing) for standing in Standing}
    # The keywork has ordinary fingerings from E3 to F#6, 39 semitones (common practice, from
    # memory); G6 is left to the player.
    assert counts == {
        Standing.PROVEN: 1,
        Standing.PREDICTED: 1,
        Standing.LOGGED: 1,
        Standing.ORDINARY: 39,
        Standing.OPEN: 79 - 42,
    }
    assert whole.within_tolerance == 1


def test_an_ordinary_note_that_is_proven_is_proven(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, "E5", KEYS), 7612)
    whole = look(notebook, soprano)
    assert step(whole, "E5").standing is Standing.PROVEN
    assert whole.within_tolerance == 0


def test_the_best_is_the_first_of_the_search_with_the_proven_before_all_others(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    log(notebook, soprano, D_FLAT, KEYS, resistance=1)
    log(notebook, soprano, D_FLAT, KEYS, does_not_speak=True)
    half = log(notebook, soprano, D_FLAT, HALF, resistance=1)
    far = log(notebook, soprano, D_FLAT, KEYS, resistance=1)
    near = log(notebook, soprano, D_FLAT, KEYS, resistance=5)
    prove(take_maker, notebook, half, 7350)
    prove(take_maker, notebook, far, 7350 + 12)
    prove(take_maker, notebook, near, 7350 - 3)
    found = step(look(notebook, soprano), D_FLAT)
    assert found.best is not None
    assert found.best.fingering_id == near, "whole before half-holed, near before far"
    assert (found.others, found.silent) == (3, 1)
    put_in_bin(notebook, "fingering", near)
    assert [_best(notebook, soprano)] == [far]
    put_in_bin(notebook, "fingering", far)
    assert [_best(notebook, soprano)] == [half], "proven comes before whole"


def _best(notebook: Notebook, instrument: int, canonical: str = D_FLAT) -> int | None:
    best = step(look(notebook, instrument), canonical).best
    return best.fingering_id if best else None


def test_one_that_does_not_speak_never_stands_for_a_step_though_takes_lie_with_it(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    silent = log(notebook, soprano, D_FLAT, KEYS, does_not_speak=True)
    prove(take_maker, notebook, silent, 7350)
    found = step(look(notebook, soprano), D_FLAT)
    assert (found.standing, found.silent, found.speaking) == (Standing.OPEN, 1, 0)
    assert found.offset_cents is None
    other = log(notebook, soprano, D_FLAT, HALF)
    found = step(look(notebook, soprano), D_FLAT)
    assert found.standing is Standing.LOGGED
    assert found.best is not None
    assert found.best.fingering_id == other


def test_a_measured_fingering_counts_where_it_sounds_and_not_where_it_was_meant(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, KEYS), 7300 + 20)
    whole = look(notebook, soprano)
    assert step(whole, D_FLAT).standing is Standing.OPEN
    found = step(whole, "C#5")
    assert found.standing is Standing.PROVEN
    assert found.offset_cents == pytest.approx(20.0, abs=1e-6)


def test_halfway_between_two_steps_belongs_to_the_upper_alone(
    notebook: Notebook, soprano: int
) -> None:
    log(notebook, soprano, "D5-25c", KEYS)
    whole = look(notebook, soprano)
    assert step(whole, D_FLAT).standing is Standing.OPEN
    assert step(whole, "D5").standing is Standing.LOGGED
    assert step(whole, "D5").offset_cents == -25.0
    assert step(look(notebook, soprano, 48), "D5-25c").offset_cents == 0.0


def test_the_nearest_prediction_shows_and_only_where_nothing_is_proven(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    predict(notebook, soprano, D_FLAT, 30.0)
    predict(notebook, soprano, "D5-40c", -9.0)
    predict(notebook, soprano, D_FLAT, -4.0)
    assert step(look(notebook, soprano), D_FLAT).offset_cents == 1.0, "meant 10 sharp, less 9"
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, KEYS), 7360)
    found = step(look(notebook, soprano), D_FLAT)
    assert found.standing is Standing.PROVEN
    assert found.offset_cents == pytest.approx(10.0, abs=1e-6)


def test_a_try_that_was_logged_stays_predicted_until_it_is_measured(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    tried = log(notebook, soprano, D_FLAT, KEYS)
    predict(notebook, soprano, D_FLAT, 3.0, state=TryState.TRIED.value, fingering_id=tried)
    found = step(look(notebook, soprano), D_FLAT)
    assert (found.standing, found.speaking) == (Standing.PREDICTED, 1)
    prove(take_maker, notebook, tried, 7350 - 60)
    whole = look(notebook, soprano)
    assert step(whole, D_FLAT).standing is Standing.OPEN, "measured: it sounds elsewhere"
    assert step(whole, "C#5").standing is Standing.PROVEN


@pytest.mark.parametrize("state", [TryState.DISMISSED, TryState.TRIED, TryState.KEPT])
def test_a_try_that_neither_waits_nor_was_logged_predicts_nothing(
    notebook: Notebook, soprano: int, state: TryState
) -> None:
    predict(notebook, soprano, D_FLAT, 3.0, state=state.value)
    assert step(look(notebook, soprano), D_FLAT).standing is Standing.OPEN


def test_a_dismissed_try_predicts_nothing_though_it_was_logged(
    notebook: Notebook, soprano: int
) -> None:
    tried = log(notebook, soprano, D_FLAT, KEYS)
    predict(notebook, soprano, D_FLAT, 3.0, state=TryState.DISMISSED.value, fingering_id=tried)
    assert step(look(notebook, soprano), D_FLAT).standing is Standing.LOGGED


def test_filters_are_those_of_the_search(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, HALF, resistance=4), 7362)
    log(notebook, soprano, D_FLAT, KEYS, resistance=2, strategy=Strategy.RAISED)
    predict(notebook, soprano, "E5-50c", -7.0)
    predict(notebook, soprano, "G5-50c", -7.0, keys_text=HALF, strategy="lowered")

    def standings(**filters: object) -> tuple[Standing, Standing, Standing]:
        whole = look(notebook, soprano, 24, **filters)
        d, e, g = (step(whole, name).standing for name in (D_FLAT, "E5-50c", "G5-50c"))
        return d, e, g

    proven, predicted, logged, nothing = (
        Standing.PROVEN, Standing.PREDICTED, Standing.LOGGED, Standing.OPEN,
    )  # fmt: skip
    assert standings() == (proven, predicted, predicted)
    assert standings(is_proven_only=True) == (proven, nothing, nothing)
    assert standings(is_without_half_holes=True) == (logged, predicted, nothing)
    assert standings(highest_resistance=2) == (logged, nothing, nothing)
    assert standings(strategy=Strategy.RAISED) == (logged, predicted, nothing)
    assert standings(tolerance_cents=10.0) == (logged, predicted, predicted)
    assert standings(tolerance_cents=200.0) == (proven, predicted, predicted)


def test_a_tolerance_leaves_out_what_lies_aside_wherever_it_is_counted(
    notebook: Notebook, soprano: int
) -> None:
    for target in ("D5-40c", "D5-50c", "D5-61c"):
        log(notebook, soprano, target, KEYS)
        log(notebook, soprano, target, KEYS, does_not_speak=True)
        predict(notebook, soprano, target, 0.0)
    found = step(look(notebook, soprano, tolerance_cents=10.0), D_FLAT)
    assert (found.speaking, found.silent) == (2, 2)
    predict(notebook, soprano, "E5-61c", 0.0)
    whole = look(notebook, soprano, tolerance_cents=10.0)
    assert step(whole, "E5-50c").standing is Standing.OPEN


def test_a_register_chooses_the_steps_and_keeps_what_counts_for_them(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    # Written for F#4 in the chalumeau, it sounds a G4, which is a throat note.
    prove(take_maker, notebook, log(notebook, soprano, "F#4", KEYS), 6690)
    whole = look(notebook, soprano, register=Register.THROAT)
    # G4 less a quarter tone to B flat 4: 6650 to 7000 in steps of 50 (closed formula).
    assert [each.written.cents for each in whole.steps] == list(range(6650, 7001, 50))
    assert step(whole, "G4").standing is Standing.PROVEN
    assert whole.outside == 0
    empty = look(notebook, soprano, register=Register.EXTENSION)
    assert (empty.steps, empty.largest_gap) == ((), None)


def test_the_largest_gap_counts_open_steps_and_passes_over_ordinary_notes(
    notebook: Notebook, soprano: int
) -> None:
    whole = look(notebook, soprano)
    assert whole.largest_gap is not None
    assert whole.largest_gap.count == 40, "39 quarter tones and G6"
    log(notebook, soprano, "D5-50c", KEYS)
    log(notebook, soprano, "F5-50c", KEYS)
    gap = look(notebook, soprano).largest_gap
    assert gap is not None
    # E3+50 to C5+50 hold 21 open quarter tones, F5 to G6 fewer (counted by hand).
    assert (int(gap.first.cents), int(gap.last.cents), gap.count) == (5250, 7250, 21)


def test_a_range_without_a_gap_has_none(notebook: Notebook, soprano: int) -> None:
    whole = look(notebook, soprano, 12)
    assert whole.has_nothing
    assert whole.largest_gap is not None
    log(notebook, soprano, "G6", KEYS)  # the only step without an ordinary fingering
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
    [(7, 25.0, "grid"), (24, 0.0, "tolerance_cents"), (24, 201.0, "tolerance_cents"),
     (24, float("nan"), "tolerance_cents")],
)  # fmt: skip
def test_what_cannot_be_shown_is_refused_beside_its_field(
    notebook: Notebook, soprano: int, grid: int, within: float, field: str
) -> None:
    with pytest.raises(FieldRefused) as refused:
        look(notebook, soprano, grid, tolerance_cents=within)
    assert refused.value.field == field


def test_the_range_takes_as_many_queries_for_many_rows_and_steps(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    with counted_queries(notebook) as few:
        look(notebook, soprano, 12)
    for cents in range(5250, 6250, 50):
        prove(take_maker, notebook, log(notebook, soprano, f"E3 +{cents - 5200}", KEYS), cents)
        predict(notebook, soprano, WrittenPitch.from_cents(cents + 1200).canonical, 1.0)
    with counted_queries(notebook) as many:
        whole = look(notebook, soprano, 48)
        assert whole.count(Standing.PROVEN) == 20
    assert len([each for each in many if each != "BEGIN"]) == len(
        [each for each in few if each != "BEGIN"]
    )
    assert len(many) <= 8


def test_each_step_is_looked_up_in_the_index(notebook: Notebook, soprano: int) -> None:
    # SQLite, "EXPLAIN QUERY PLAN": SEARCH means by an index, SCAN through everything.
    with counted_queries(notebook) as asked:
        look(notebook, soprano)
    (query,) = [each for each in asked if "step" in each]
    marks = query.count("?")
    with notebook.database.engine.connect() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {query}", (1,) * marks)
        lines = [str(row[-1]) for row in plan if "fingering" in str(row[-1])]
    assert len(lines) == 3
    assert all(line.startswith("SEARCH") for line in lines)
    assert sum("ix_fingering_instrument_sounding" in line for line in lines) == 2


def test_the_table_has_a_row_for_every_step(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    number = log(notebook, soprano, "D5-48c", KEYS, resistance=2)
    prove(take_maker, notebook, number, 7354)
    log(notebook, soprano, D_FLAT, KEYS)
    predict(notebook, soprano, "E5-50c", -7.0)
    rows = {str(row[0]): dict(zip(COLUMNS, row, strict=True)) for row in _table(notebook, soprano)}
    assert len(rows) == 79
    proven = rows[D_FLAT]
    uncertainty = proven.pop("uncertainty_cents")
    assert isinstance(uncertainty, float)
    assert uncertainty > 0
    assert proven == {
        "note": D_FLAT, "written_cents": 7350.0, "register": "clarion", "standing": "proven",
        "offset_cents": 4.0, "takes": 1, "resistance": 2, "others": 1, "do_not_speak": 0,
        "target": "D5-48c", "keys": KEYS, "fingering": number, "instrument": "B-flat",
    }  # fmt: skip
    predicted = rows["E5-50c"]
    assert (predicted["standing"], predicted["offset_cents"]) == ("predicted", -7.0)
    assert (predicted["target"], predicted["takes"], predicted["keys"]) == ("E5-50c", None, None)
    assert rows["F5+50c"]["standing"] == "open"
    assert rows["F5+50c"]["offset_cents"] is None


def _table(notebook: Notebook, instrument: int) -> list[tuple[object, ...]]:
    return list(tabulate_range(look(notebook, instrument)))


# --- whatever is logged -------------------------------------------------------------------------

Made = Callable[..., None]
ROWS = st.lists(
    st.fixed_dictionaries(
        {
            # in eighths of a cent, so that halfway is met exactly
            "eighths": st.one_of(
                st.integers(5100 * 8, 9300 * 8), st.integers(410, 740).map(lambda n: n * 100)
            ),
            "take_count": st.integers(0, 7),
            "does_not_speak": st.booleans(),
            "has_half_hole": st.booleans(),
            "resistance": st.none() | st.integers(1, 5),
        }
    ),
    max_size=40,
)


def _insert(notebook: Notebook, instrument: int, rows: list[dict[str, int]]) -> None:
    """Write rows as they would stand after their takes; each sounds at these written cents."""
    made = [
        {
            **{name: value for name, value in row.items() if name != "eighths"},
            "instrument_id": instrument,
            "keys_text": KEYS,
            "target_text": "D5",
            "strategy": "found",
            "written_cents": 7400.0,
            "target_cents": 7200.0,
            "sounding_cents": row["eighths"] / 8 - 200,
            "offset_cents": 0.0,
            "offset_uncertainty_cents": 1.0,
            "version": 1,
        }
        for row in rows
    ]
    with notebook.database.writing() as session:
        session.query(Fingering).delete()
        if made:
            session.execute(insert(Fingering), made)


@pytest.mark.parametrize("grid", sorted(STEP_CENTS))
def test_every_fingering_counts_once_and_the_best_of_a_step_is_that_of_the_search(
    notebook: Notebook, soprano: int, grid: int
) -> None:
    half = STEP_CENTS[grid] / 2

    @given(rows=ROWS)
    @settings(max_examples=25, deadline=None)
    def check(rows: list[dict[str, int]]) -> None:
        _insert(notebook, soprano, rows)
        whole = look(notebook, soprano, grid)
        cents = [each.written.cents for each in whole.steps]
        assert cents == [5200 + STEP_CENTS[grid] * number for number in range(len(cents))]
        assert cents[-1] >= 9100
        sounding = [row["eighths"] / 8 for row in rows]
        inside = [each for each in sounding if 5200 - half <= each < float(cents[-1]) + half]
        counted = sum(each.speaking + each.silent for each in whole.steps)
        assert counted == len(inside)
        assert whole.outside == len(rows) - len(inside)
        for each in whole.steps:
            if each.best is not None and half <= 25:
                _compare_with_search(notebook, soprano, each, half)

    check()


def _compare_with_search(
    notebook: Notebook, instrument: int, found: RangeStep, half: float
) -> None:
    """The best is the first proven hit of a search for the step, or else the first hit at all."""
    query = SearchQuery(found.written.canonical, instrument, tolerance_cents=half)
    hits = [
        hit
        for hit in search_target(notebook, query, names=ENGLISH).hits
        if hit.distance_cents is not None and hit.distance_cents < half
    ]
    proven = [hit for hit in hits if hit.fingering.is_proven and not hit.fingering.does_not_speak]
    assert found.best is not None
    assert found.best.fingering_id == (proven or hits)[0].fingering.id
    assert (found.standing is Standing.PROVEN) == bool(proven)


@given(
    grid=st.sampled_from(sorted(STEP_CENTS)),
    low=st.integers(4800, 5600),
    semitones=st.integers(1, 60),
)
def test_a_grid_has_every_step_once_in_rising_order(grid: int, low: int, semitones: int) -> None:
    start = WrittenPitch.from_cents(100 * (low // 100))
    end = WrittenPitch.from_cents(start.cents + 100 * semitones)
    steps = EqualDivision(grid).between(start, end)
    assert len(steps) == semitones * grid // 12 + 1
    assert [each.cents for each in steps] == sorted({each.cents for each in steps})
    assert all(WrittenPitch.from_canonical(each.canonical) == each for each in steps)


def test_the_instrument_of_the_range_can_be_read_after_it_is_closed(
    notebook: Notebook, soprano: int
) -> None:
    whole = look(notebook, soprano)
    assert whole.instrument.name == open_instrument(notebook, soprano).name
    assert whole.instrument.kind.clef == "treble"
