"""The words of the range page."""

from typing import Any

import pytest

from analysis.finder.inputs import USUAL_REACH
from analysis.pitch import (
    EqualDivision,
    Register,
    SoundingPitch,
    WrittenPitch,
)
from tests.webapp.notebook.targets.judging import answer_of
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.rows import Circumstance, Instrument, Role
from webapp.notebook.targets.forecasts import Forecast
from webapp.notebook.targets.range import RangeStep, StepState, WholeRange
from webapp.notebook.targets.standing import Facts, Judged, Note, Word, judge
from webapp.presenting.range import (
    describe_answer,
    describe_counting,
    describe_facts,
    describe_place,
    present_range,
    summarise,
)

NOTE = Note(WrittenPitch.from_cents(7350), SoundingPitch(7150.0), 10.0, USUAL_REACH)
FACTS = Facts(
    fingering_id=7,
    instrument_id=1,
    keys_text="T R 123 | 12-",
    target_text="D5-50c",
    target_cents=7150.0,
    sounding_cents=7150.0 + 4.04,
    uncertainty_cents=0.31,
    take_count=2,
    failed_take_count=0,
    spread_cents=1.0,
    resistance=2,
    ease=0.9,
    has_half_hole=False,
    does_not_speak=False,
)


def judged(offset_cents: float = 4.04, word: Word | None = None, **facts: Any) -> Judged:
    """A measured fingering as it stands to the note."""
    known = FACTS._replace(sounding_cents=7150.0 + offset_cents, **facts)
    return judge(known, NOTE, word)


def step(
    state: StepState, *ranked: Judged, cents: int = 7350, silent: int = 0, **facts: Any
) -> RangeStep:
    """A step at these written cents."""
    mute = (judged(does_not_speak=True),) * silent
    answer = answer_of(NOTE, ranked, mute)
    return RangeStep(WrittenPitch.from_cents(cents), Register.CLARION, state, answer, **facts)


NOT_MEASURED = judged(-8.0, take_count=0, resistance=None, uncertainty_cents=None)
IN_TUNE = step(StepState.IN_TUNE, judged(), *[judged(5.0)] * 3, silent=1)
NEAR = step(StepState.NEAR, judged(20.0))
FORECAST = Forecast("D5-50c", -7.3, 12.4)
PREDICTED = step(StepState.PREDICTED, NOT_MEASURED, forecast=FORECAST)
NOT_TRIED = step(StepState.NOT_TRIED, NOT_MEASURED)
ELSEWHERE = step(StepState.ELSEWHERE, judged(-24.0))
ORDINARY = step(StepState.ORDINARY)
FAILED = step(StepState.OPEN, silent=2)
MINE, REJECTED = Word(Role.MINE, (Circumstance.ALWAYS,)), Word(Role.REJECTED)


def whole(*steps: RangeStep, outside: int = 0, grid: int = 24) -> WholeRange:
    """A range of these steps."""
    instrument = Instrument(name="Invented", kind_id="b-flat-soprano")
    return WholeRange(instrument, EqualDivision(grid), 600 / grid, Writing(), steps, outside)


def test_the_answer_is_a_number_only_where_there_is_one() -> None:
    # The uncertainty of a measurement is rounded up, as everywhere in the notebook.
    assert describe_answer(IN_TUNE) == "+4.0 ± 0.4"
    assert describe_answer(NEAR) == "+20.0 ± 0.4"
    assert describe_answer(ELSEWHERE) == "−24.0 ± 0.4"
    assert describe_answer(PREDICTED) == "−7 ± 12"
    assert describe_answer(NOT_TRIED) == "not tried"
    assert describe_answer(ORDINARY) == "ordinary note"
    assert describe_answer(FAILED) == "open"


def test_beside_it_stands_whose_it_is_how_it_resists_and_what_else_there_is() -> None:
    assert describe_facts(IN_TUNE) == "light, 3 others"
    assert describe_facts(PREDICTED) == "1 not tried"
    assert describe_facts(NOT_TRIED) == ""
    assert describe_facts(ELSEWHERE) == "open"
    assert describe_facts(FAILED) == "2 do not speak"
    assert describe_facts(step(StepState.IN_TUNE, judged(), judged())) == "light, 1 other"
    chosen = step(StepState.NEAR, judged(20.0, MINE), judged(), judged(1.0, REJECTED))
    assert describe_facts(chosen) == "your choice, light, 1 other, 1 rejected"
    assert describe_facts(step(StepState.OPEN, judged(1.0, REJECTED))) == "1 rejected"


def test_what_the_picture_shows_is_said_as_well() -> None:
    assert describe_place(IN_TUNE) == "in tune"
    assert describe_place(NEAR) == "near"
    assert describe_place(PREDICTED) == "predicted"
    assert describe_place(NOT_TRIED) == "meant −8.0 cents aside"
    assert describe_place(ELSEWHERE) == "a gap: what is logged sounds too far off"
    assert describe_place(ORDINARY) == "nothing recorded"
    assert describe_place(FAILED) == "a gap"


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ((FAILED,), "0 of 1 step in tune; 1 open."),
        ((IN_TUNE, FAILED), "1 of 2 steps in tune; 1 open."),
        ((IN_TUNE, NEAR), "1 of 2 steps in tune, 1 near; 0 open."),
        (
            (IN_TUNE, step(StepState.NEAR, judged(20.0, MINE))),
            "1 of 2 steps in tune, 1 near (2 solved, your choices counted); 0 open.",
        ),
        (
            (NEAR, PREDICTED, NOT_TRIED, ORDINARY, ELSEWHERE),
            "0 of 5 steps in tune, 1 near; 1 predicted only, 1 logged and not tried, "
            "1 ordinary and not logged, 1 open.",
        ),
    ],
)
def test_the_summary_counts_every_step_once(steps: tuple[RangeStep, ...], words: str) -> None:
    assert summarise(whole(*steps)) == words


def test_what_counts_for_a_step_is_said_and_what_lies_outside_is_not_hidden() -> None:
    assert describe_counting(whole(grid=48)).endswith("within 12.5 cents is shown at an open step.")
    assert describe_counting(whole(outside=1)).endswith(
        "1 fingering sounds below or above this range."
    )
    assert "2 fingerings sound below" in describe_counting(whole(outside=2))


def test_registers_with_steps_stand_in_columns_low_to_high() -> None:
    steps = tuple(
        RangeStep(WrittenPitch.from_cents(cents), register, StepState.OPEN, answer_of(NOTE))
        for register, cents in (
            (Register.CHALUMEAU, 5200), (Register.THROAT, 6700), (Register.CLARION, 7100),
        )
    )  # fmt: skip
    view = present_range(whole(*steps))
    assert [[section.register.value for section in column] for column in view.columns] == [
        ["chalumeau"], ["throat", "clarion"],
    ]  # fmt: skip
    assert view.registers == (Register.CHALUMEAU, Register.THROAT, Register.CLARION)
    assert view.columns[0][0].words == "0 of 1 in tune, 1 open"


def test_a_rung_reaches_beyond_half_a_step_so_that_no_mark_is_cut_off() -> None:
    for grid, reach in ((12, 60.0), (24, 30.0), (48, 15.0)):
        assert present_range(whole(FAILED, grid=grid)).scale.reach_cents == reach
    (row,) = present_range(whole(FAILED)).columns[0][0].rows
    assert "#rung-silent" in row.rung
