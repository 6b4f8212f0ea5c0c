"""Whatever is logged, range and search give one answer, and many rows cost no more queries.

Sounding pitches by closed formula: 440 * 2 ** (cents / 1200) Hz. A B-flat soprano sounds a whole
tone lower than written (common practice, from memory).
"""

from random import Random
from typing import Any

import pytest
from hypothesis import given
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
from webapp.notebook.store.rows import Choice, Fingering, Role, exact_key
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.range import RangeStep, StepState
from webapp.notebook.targets.search import SearchQuery, search_target

FINGERINGS = 300  # about what a player who has filled a range holds


def test_the_range_takes_as_many_queries_for_many_rows_and_steps(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    look(notebook, soprano, 12)  # from now on only what was written is read again
    log(notebook, soprano, "C4", KEYS)
    with counted_queries(notebook) as few:
        look(notebook, soprano, 12)
    for cents in range(5250, 6250, 50):
        prove(take_maker, notebook, log(notebook, soprano, f"E3 +{cents - 5200}", KEYS), cents)
        predict(notebook, soprano, WrittenPitch.from_cents(cents + 1200).canonical, 1.0)
    with counted_queries(notebook) as many:
        whole = look(notebook, soprano, 48)
        assert whole.count(StepState.IN_TUNE) == 20
    assert len([each for each in many if each != "BEGIN"]) == len(
        [each for each in few if each != "BEGIN"]
    )
    assert len(many) <= 9


def test_the_rows_of_one_instrument_are_found_by_an_index(notebook: Notebook, soprano: int) -> None:
    # SQLite, "EXPLAIN QUERY PLAN": SEARCH means by an index, SCAN through everything.
    with counted_queries(notebook) as asked:
        look(notebook, soprano)
    (query,) = [each for each in asked if "failed_take_count" in each]
    marks = query.count("?")
    with notebook.database.engine.connect() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {query}", (1,) * marks)
        lines = [str(row[-1]) for row in plan if "fingering" in str(row[-1])]
    assert lines
    assert all(line.startswith("SEARCH") for line in lines)


def test_what_can_matter_for_a_note_is_found_by_indexes_and_never_row_by_row(
    notebook: Notebook, soprano: int
) -> None:
    # SQLite, "EXPLAIN QUERY PLAN": each part of an OR by an index of its own, down to the cents.
    query = SearchQuery("D5", soprano)
    with counted_queries(notebook) as asked:
        search_target(notebook, query, names=ENGLISH)
    found = next(each for each in asked if "failed_take_count" in each)
    with notebook.database.engine.connect() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {found}", (1,) * found.count("?"))
        lines = [str(row[-1]) for row in plan if " fingering " in f"{row[-1]} "]
    assert len(lines) == 3
    assert all(line.startswith("SEARCH") for line in lines)
    assert [("cents>" in line) for line in lines].count(True) == 2


def _invent(chance: Random, count: int) -> list[dict[str, Any]]:
    """Rows as they would stand after their takes; every third whole tone of the range is full."""
    places = [25 * each for each in range(5200 // 25, 9100 // 25)]
    weights = [1 if each // 200 % 3 else 40 for each in places]
    rows = []
    for number in range(1, count + 1):
        written = WrittenPitch.from_cents(chance.choices(places, weights)[0])
        target = float(written.cents) - 200  # a whole tone lower
        takes = chance.choice([0, 0, 1, 2, 7])
        # in eighths of a cent, so that halfway and the bounds are met exactly
        offset = round(8 * chance.gauss(0, 20)) / 8 if takes else None
        rows.append(
            {
                "id": number,
                "keys_text": KEYS,
                "target_text": written.canonical,
                "strategy": "found",
                "written_cents": float(written.cents),
                "target_cents": target,
                "sounding_cents": target + (offset or 0.0),
                "offset_cents": offset,
                "offset_uncertainty_cents": 1.0 if takes else None,
                "take_count": takes,
                "failed_take_count": chance.choice([0, 0, 0, 1]),
                "spread_cents": chance.choice([None, 1.0, 6.0]),
                "resistance": chance.choice([None, 1, 2, 3, 4, 5]),
                "ease": chance.choice([None, 0.2, 0.9]),
                "has_half_hole": chance.random() < 0.2,
                "does_not_speak": chance.random() < 0.1,
                "version": 1,
            }
        )
    return rows


def _invent_words(chance: Random, fingerings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The player's words on one in five; of a note the newest choice counts."""
    words: dict[tuple[str, str], dict[str, Any]] = {}
    for row in fingerings:
        if chance.random() >= 0.2:
            continue
        role = chance.choice(list(Role))
        key = exact_key(WrittenPitch.from_canonical(row["target_text"]).cents)
        held = role.value if role is Role.MINE else str(row["id"])
        words[key, held] = {
            "written_exact": key, "fingering_id": row["id"], "role": role.value,
        }  # fmt: skip
    return list(words.values())


def _insert(notebook: Notebook, instrument: int, seed: int) -> None:
    chance = Random(seed)
    rows = _invent(chance, FINGERINGS)
    words = _invent_words(chance, rows)
    with notebook.database.writing() as session:
        session.execute(insert(Fingering), [{**row, "instrument_id": instrument} for row in rows])
        session.execute(insert(Choice), [{**row, "instrument_id": instrument} for row in words])


@pytest.mark.parametrize("seed", [1, pytest.param(2, marks=pytest.mark.long_run)])
@pytest.mark.parametrize("grid", sorted(STEP_CENTS))
def test_the_range_and_the_search_give_one_answer(
    notebook: Notebook, soprano: int, grid: int, seed: int
) -> None:
    _insert(notebook, soprano, seed)
    whole = look(notebook, soprano, grid, within_cents=25.0 if grid < 48 else 12.5)
    cents = [each.written.cents for each in whole.steps]
    assert cents == [5200 + STEP_CENTS[grid] * number for number in range(len(cents))]
    assert cents[-1] >= 9100
    assert len({each.state for each in whole.steps}) >= 4, "the notebook holds all kinds"
    for found in whole.steps[::5]:  # each costs a search
        _compare_with_search(notebook, soprano, found, whole.width_cents)


def tell(answer: NoteAnswer) -> tuple[object, ...]:
    """All that an answer says."""
    parts = (answer.ranked, answer.history, answer.silent)
    return (answer.note, *parts, answer.best, answer.reason, answer.remarks)


def _compare_with_search(
    notebook: Notebook, instrument: int, found: RangeStep, width_cents: float
) -> None:
    """The same fingerings in the same order, the same first, the same reason, the same verdict."""
    query = SearchQuery(
        found.written.canonical, instrument, within_cents=width_cents, hits_on_a_page=1000
    )
    result = search_target(notebook, query, names=ENGLISH)
    assert result.answer is not None
    assert result.answer.is_solved == found.is_solved
    assert tell(result.answer) == tell(found.answer)
    assert [hit.judged for hit in result.hits] == list(found.answer.ranked)
    assert len(result.silent) == found.silent
    best = found.answer.best
    if found.shown is not None and best is not None:
        assert found.shown == best == result.hits[0].judged
        assert found.state.value == best.standing.value


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
