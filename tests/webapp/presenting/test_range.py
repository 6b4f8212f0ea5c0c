"""The words of the range page."""

from typing import Any

import pytest
from webapp.notebook.targets.range_rows import BestEntry, Forecast

from analysis.pitch import AccidentalStyle, EqualDivision, NoteNames, Register, WrittenPitch
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.range import RangeStep, Standing, WholeRange
from webapp.presenting.range import (
    describe_answer,
    describe_counting,
    describe_facts,
    describe_place,
    present_range,
    summarise,
)


def entry(offset_cents: float = 4.04, **facts: Any) -> BestEntry:
    """A proven fingering."""
    known: dict[str, Any] = {
        "uncertainty_cents": 0.31, "take_count": 2, "resistance": 2, "does_not_speak": False,
        **facts,
    }  # fmt: skip
    return BestEntry(7, "D5-50c", "T R 123 | 12-", offset_cents, **known)


def step(standing: Standing, cents: int = 7350, **facts: Any) -> RangeStep:
    """A step at these written cents."""
    written = WrittenPitch.from_cents(cents)
    return RangeStep(written, Register.CLARION, standing, **facts)


PROVEN = step(Standing.PROVEN, best=entry(), speaking=4, silent=1)
PREDICTED = step(Standing.PREDICTED, forecast=Forecast("D5-50c", -7.3, 12.4), speaking=1)
LOGGED = step(
    Standing.LOGGED,
    best=entry(-12.0, take_count=0, resistance=None, uncertainty_cents=None),
    speaking=1,
)
ORDINARY = step(Standing.ORDINARY)
FAILED = step(Standing.OPEN, silent=2)


def whole(*steps: RangeStep, outside: int = 0, grid: int = 24) -> WholeRange:
    """A range of these steps."""
    instrument = Instrument(name="Invented", kind_id="b-flat-soprano")
    return WholeRange(instrument, EqualDivision(grid), 600 / grid, 10.0, steps, outside)


def test_the_answer_is_a_number_only_where_there_is_one() -> None:
    # The uncertainty of a proof is rounded up, as everywhere in the notebook.
    assert describe_answer(PROVEN) == "+4.0 ± 0.4"
    assert describe_answer(PREDICTED) == "−7 ± 12"
    assert describe_answer(LOGGED) == "not measured"
    assert describe_answer(ORDINARY) == "ordinary note"
    assert describe_answer(FAILED) == "open"


def test_beside_it_stands_how_it_resists_and_what_else_there_is() -> None:
    assert describe_facts(PROVEN) == "light, 3 others, 1 does not speak"
    assert describe_facts(PREDICTED) == "1 not measured"
    assert describe_facts(LOGGED) == ""
    assert describe_facts(FAILED) == "2 do not speak"
    assert describe_facts(step(Standing.PROVEN, best=entry(), speaking=2)) == "light, 1 other"


def test_what_the_picture_shows_is_said_as_well() -> None:
    shown = whole(PROVEN)
    assert describe_place(PROVEN, shown) == "proven, within the tolerance"
    far = step(Standing.PROVEN, best=entry(10.1), speaking=1)
    assert describe_place(far, shown) == "proven, outside the tolerance"
    assert describe_place(PREDICTED, shown) == "predicted, within the tolerance"
    assert describe_place(LOGGED, shown) == "meant −12.0 cents aside"
    assert describe_place(ORDINARY, shown) == "nothing recorded"
    assert describe_place(FAILED, shown) == "a gap"


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ((FAILED,), "0 of 1 step proven; 1 open."),
        ((PROVEN, FAILED), "1 of 2 steps proven, all of them within 10 cents; 1 open."),
        (
            (PROVEN, step(Standing.PROVEN, best=entry(20.0), speaking=1)),
            "2 of 2 steps proven, 1 of them within 10 cents; 0 open.",
        ),
        (
            (step(Standing.PROVEN, best=entry(20.0), speaking=1), PREDICTED, LOGGED, ORDINARY),
            "1 of 4 steps proven, none of them within 10 cents; 1 predicted only, "
            "1 logged and not measured, 1 ordinary and not logged, 0 open.",
        ),
    ],
)
def test_the_summary_counts_every_step_once(steps: tuple[RangeStep, ...], words: str) -> None:
    assert summarise(whole(*steps)) == words


def test_what_counts_for_a_step_is_said_and_what_lies_outside_is_not_hidden() -> None:
    assert describe_counting(whole(grid=48)).endswith("at most 12.5 cents away.")
    assert describe_counting(whole(outside=1)).endswith(
        "1 fingering sounds below or above this range."
    )
    assert "2 fingerings sound below" in describe_counting(whole(outside=2))


def test_registers_with_steps_stand_in_columns_low_to_high() -> None:
    steps = tuple(
        RangeStep(WrittenPitch.from_cents(cents), register, Standing.OPEN)
        for register, cents in (
            (Register.CHALUMEAU, 5200), (Register.THROAT, 6700), (Register.CLARION, 7100),
        )
    )  # fmt: skip
    view = present_range(whole(*steps), Writing())
    assert [[section.register.value for section in column] for column in view.columns] == [
        ["chalumeau"], ["throat", "clarion"],
    ]  # fmt: skip
    assert view.registers == (Register.CHALUMEAU, Register.THROAT, Register.CLARION)
    assert view.columns[0][0].words == "0 of 1 proven, 1 open"


@pytest.mark.parametrize(
    ("names", "name", "words"),
    [
        (NoteNames.ENGLISH, "B4 −50 c", "B quarter-flat 4"),
        (NoteNames.GERMAN, "H4 −50 c", "H4, Viertelton tiefer"),
        (NoteNames.ROMANCE, "si4 −50 c", "si4, quart de ton plus bas"),
    ],
)
def test_notes_are_named_in_the_players_language(names: NoteNames, name: str, words: str) -> None:
    view = present_range(whole(step(Standing.OPEN, 7050)), Writing(names=names))
    (row,) = view.columns[0][0].rows
    assert (row.name, row.name_in_words) == (name, words)


@pytest.mark.parametrize(
    ("style", "cents", "sign"),
    # SMuFL code points: natural with arrow up U+E272, quarter-tone flat U+E280. Stein-Zimmermann
    # has no eighth tones, and half a sign beside the full name would contradict it.
    [
        (AccidentalStyle.ARROWS, 7425, "#sign-e272"),
        (AccidentalStyle.STEIN_ZIMMERMANN, 7425, ""),
        (AccidentalStyle.STEIN_ZIMMERMANN, 7350, "#sign-e280"),
        (AccidentalStyle.ARROWS, 7400, ""),
    ],
)
def test_a_sign_stands_only_where_it_says_all(
    style: AccidentalStyle, cents: int, sign: str
) -> None:
    shown = whole(step(Standing.OPEN, cents), grid=48)
    view = present_range(shown, Writing(accidentals=style))
    (row,) = view.columns[0][0].rows
    assert (sign in row.sign) if sign else row.sign == ""


def test_a_rung_reaches_beyond_half_a_step_so_that_no_mark_is_cut_off() -> None:
    for grid, reach in ((12, 60.0), (24, 30.0), (48, 15.0)):
        assert present_range(whole(FAILED, grid=grid), Writing()).scale.reach_cents == reach
    (row,) = present_range(whole(FAILED), Writing()).columns[0][0].rows
    assert "#rung-silent" in row.rung
