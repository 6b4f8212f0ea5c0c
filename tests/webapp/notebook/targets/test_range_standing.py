"""What stands for a step of the range, against notebooks built by hand.

Sounding pitches by closed formula: 440 * 2 ** (cents / 1200) Hz. A B-flat soprano sounds a whole
tone lower than written (common practice, from memory). Which stands for a step follows from the
rules of the judge (`standing`, `merit`).
"""

import pytest

from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.notebook.targets.ranging import (
    D_FLAT,
    HALF,
    KEYS,
    look,
    predict,
    prove,
    step,
)
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Role, TryState
from webapp.notebook.targets.choices import WordDraft, say_word
from webapp.notebook.targets.range import StepState


def test_every_standing_is_told_apart(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, KEYS, resistance=2), 7354)
    prove(take_maker, notebook, log(notebook, soprano, "C5+50c", KEYS), 7250 + 20)
    prove(take_maker, notebook, log(notebook, soprano, "B5-50c", KEYS), 8250 - 20)
    predict(notebook, soprano, "E5-50c", -7.0)
    log(notebook, soprano, "F5+50c", KEYS)
    log(notebook, soprano, "G5+50c", KEYS, does_not_speak=True)
    whole = look(notebook, soprano)
    in_tune = step(whole, D_FLAT)
    assert in_tune.state is StepState.IN_TUNE
    assert in_tune.offset_cents == pytest.approx(4.0, abs=1e-6)
    assert in_tune.uncertainty_cents is not None
    assert in_tune.shown is not None
    assert in_tune.shown.facts.resistance == 2
    assert step(whole, "C5+50c").state is StepState.NEAR
    elsewhere = step(whole, "B5-50c")
    assert elsewhere.state is StepState.ELSEWHERE
    assert elsewhere.is_open
    assert elsewhere.offset_cents == pytest.approx(-20.0, abs=1e-6)
    predicted = step(whole, "E5-50c")
    assert predicted.state is StepState.PREDICTED
    assert (predicted.offset_cents, predicted.uncertainty_cents) == (-7.0, 12.0)
    assert step(whole, "F5+50c").state is StepState.NOT_TRIED
    failed = step(whole, "G5+50c")
    assert (failed.state, failed.silent, failed.others) == (StepState.OPEN, 1, 0)
    assert step(whole, "G5").state is StepState.ORDINARY
    assert step(whole, "A5+50c").state is StepState.OPEN
    counts = {state: whole.count(state) for state in StepState}
    # The keywork has ordinary fingerings from E3 to G6, 40 notes (common practice, from
    # memory).
    assert counts == {
        StepState.IN_TUNE: 1,
        StepState.NEAR: 1,
        StepState.PREDICTED: 1,
        StepState.NOT_TRIED: 1,
        StepState.ELSEWHERE: 1,
        StepState.ORDINARY: 40,
        StepState.OPEN: 79 - 45,
    }
    assert whole.solved_count == 1


def test_an_ordinary_note_that_is_measured_stands_as_it_is_measured(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, "E5", KEYS), 7612)
    whole = look(notebook, soprano)
    assert step(whole, "E5").state is StepState.NEAR
    assert whole.solved_count == 0


def test_the_best_is_in_tune_and_whole_before_half_holed_and_in_tune_half_holed_before_near(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    log(notebook, soprano, D_FLAT, KEYS, resistance=1)
    log(notebook, soprano, D_FLAT, KEYS, does_not_speak=True)
    half = log(notebook, soprano, D_FLAT, HALF, resistance=1)
    sharp = log(notebook, soprano, D_FLAT, KEYS, resistance=1)
    whole = log(notebook, soprano, D_FLAT, KEYS, resistance=5)
    prove(take_maker, notebook, half, 7350)
    prove(take_maker, notebook, sharp, 7350 + 12)
    prove(take_maker, notebook, whole, 7350 - 3)
    found = step(look(notebook, soprano), D_FLAT)
    assert _shown(notebook, soprano) == whole, "a half-hole comes last among equals"
    assert (found.others, found.silent) == (3, 1)
    put_in_bin(notebook, "fingering", whole)
    assert _shown(notebook, soprano) == half, "in tune comes before near"
    put_in_bin(notebook, "fingering", half)
    assert _shown(notebook, soprano) == sharp, "measured and near comes before not tried"


def test_a_step_with_nothing_but_a_rejected_one_is_open(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    rejected = log(notebook, soprano, D_FLAT, KEYS)
    prove(take_maker, notebook, rejected, 7350)
    assert step(look(notebook, soprano), D_FLAT).is_solved
    say_word(notebook, rejected, WordDraft(Role.REJECTED, reason="shrill"))
    found = step(look(notebook, soprano), D_FLAT)
    assert (found.state, found.shown, found.rejected) == (StepState.OPEN, None, 1)
    assert not found.is_solved


def _shown(notebook: Notebook, instrument: int, canonical: str = D_FLAT) -> int | None:
    shown = step(look(notebook, instrument), canonical).shown
    return shown.facts.fingering_id if shown else None


def test_one_that_does_not_speak_never_stands_for_a_step_though_takes_lie_with_it(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    silent = log(notebook, soprano, D_FLAT, KEYS, does_not_speak=True)
    prove(take_maker, notebook, silent, 7350)
    found = step(look(notebook, soprano), D_FLAT)
    assert (found.state, found.silent, found.answer.ranked) == (StepState.OPEN, 1, ())
    assert found.offset_cents is None
    other = log(notebook, soprano, D_FLAT, HALF)
    found = step(look(notebook, soprano), D_FLAT)
    assert found.state is StepState.NOT_TRIED
    assert _shown(notebook, soprano) == other


def test_a_measured_fingering_counts_where_it_sounds_and_not_where_it_was_meant(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, KEYS), 7300 + 20)
    whole = look(notebook, soprano)
    meant = step(whole, D_FLAT)
    assert meant.state is StepState.ELSEWHERE, "here only as history"
    assert (meant.is_open, meant.answer.ranked, meant.others) == (True, (), 0)
    found = step(whole, "C#5")
    assert found.state is StepState.NEAR
    assert found.offset_cents == pytest.approx(20.0, abs=1e-6)


def test_halfway_between_two_steps_is_near_to_the_lower_since_the_lip_goes_down(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    number = log(notebook, soprano, "D5-25c", KEYS)
    whole = look(notebook, soprano)
    assert {step(whole, each).state for each in (D_FLAT, "D5")} == {StepState.NOT_TRIED}
    assert step(whole, "D5").offset_cents == -25.0
    prove(take_maker, notebook, number, 7375)
    whole = look(notebook, soprano)
    assert step(whole, D_FLAT).state is StepState.NEAR
    assert step(whole, "D5").state is StepState.ORDINARY, "25 flat is too far for the lip"
    assert step(look(notebook, soprano, 48), "D5-25c").offset_cents == 0.0


def test_the_nearest_prediction_shows_and_only_where_nothing_is_measured(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    predict(notebook, soprano, D_FLAT, 30.0)
    predict(notebook, soprano, "D5-40c", -9.0)
    predict(notebook, soprano, D_FLAT, -4.0)
    assert step(look(notebook, soprano), D_FLAT).offset_cents == 1.0, "meant 10 sharp, less 9"
    prove(take_maker, notebook, log(notebook, soprano, D_FLAT, KEYS), 7360)
    found = step(look(notebook, soprano), D_FLAT)
    assert found.state is StepState.IN_TUNE
    assert found.offset_cents == pytest.approx(10.0, abs=1e-6)


def test_a_try_that_was_logged_stays_predicted_until_it_is_measured(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    tried = log(notebook, soprano, D_FLAT, KEYS)
    predict(notebook, soprano, D_FLAT, 3.0, state=TryState.TRIED.value, fingering_id=tried)
    found = step(look(notebook, soprano), D_FLAT)
    assert (found.state, found.others) == (StepState.PREDICTED, 1)
    prove(take_maker, notebook, tried, 7350 - 60)
    whole = look(notebook, soprano)
    assert step(whole, D_FLAT).state is StepState.ELSEWHERE, "measured: it sounds elsewhere"
    assert step(whole, "C#5").state is StepState.IN_TUNE


@pytest.mark.parametrize("state", [TryState.DISMISSED, TryState.TRIED, TryState.KEPT])
def test_a_try_that_neither_waits_nor_was_logged_predicts_nothing(
    notebook: Notebook, soprano: int, state: TryState
) -> None:
    predict(notebook, soprano, D_FLAT, 3.0, state=state.value)
    assert step(look(notebook, soprano), D_FLAT).state is StepState.OPEN


def test_a_dismissed_try_predicts_nothing_though_it_was_logged(
    notebook: Notebook, soprano: int
) -> None:
    tried = log(notebook, soprano, D_FLAT, KEYS)
    predict(notebook, soprano, D_FLAT, 3.0, state=TryState.DISMISSED.value, fingering_id=tried)
    assert step(look(notebook, soprano), D_FLAT).state is StepState.NOT_TRIED
