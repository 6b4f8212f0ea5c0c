"""What stands for a step of the range, against notebooks built by hand.

Sounding pitches by closed formula: 440 * 2 ** (cents / 1200) Hz. A B-flat soprano sounds a whole
tone lower than written (common practice, from memory).
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
from webapp.notebook.store.rows import TryState
from webapp.notebook.targets.range import (
    Standing,
)


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
