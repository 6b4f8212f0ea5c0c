"""Whatever is logged, every fingering counts once, and many cost no more questions than few.

Sounding pitches by closed formula: 440 * 2 ** (cents / 1200) Hz. A B-flat soprano sounds a whole
tone lower than written (common practice, from memory).
"""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import insert

from analysis.pitch import EqualDivision, WrittenPitch
from tests.webapp.logging_rows import ENGLISH, TakeMaker, log
from tests.webapp.notebook.targets.ranging import (
    KEYS,
    STEP_CENTS,
    look,
    predict,
    prove,
)
from tests.webapp.snapshots import counted_queries
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering
from webapp.notebook.targets.range import (
    RangeStep,
    Standing,
)
from webapp.notebook.targets.search import SearchQuery, search_target


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
