"""Day's state: closed formulas for shift and pull, their uncertainties, and time."""

import math

import numpy as np
import pytest

from analysis.day import OCCASION_MIN, NoTuningNotes, PlayedNote, find_day_state
from analysis.day.day_state import NOTE_SCATTER_CENTS, STATED_PULL_SIGMA_MM, USUAL_PULL_SIGMA_MM

G4, B4 = 7.0, 3.0  # cents per mm


def played(
    effect: float, shift: float, pull_mm: float = 0.0, *, at_min: float = 0.0, sigma: float = 0.05
) -> PlayedNote:
    """A tuning note as the model has it, without error."""
    return PlayedNote(at_min, shift - effect * pull_mm, sigma, effect)


@pytest.mark.parametrize("effect", [G4, B4])
def test_one_note_is_corrected_by_its_very_offset(effect: float) -> None:
    correction = find_day_state([played(effect, 12.0, sigma=0.5)]).correct(55.0, effect)
    assert correction.offset_cents == pytest.approx(12.0)
    assert correction.sigma_cents == pytest.approx(0.5)


def test_one_note_corrects_all_others_alike_as_surely_as_nobody_pulls() -> None:
    state = find_day_state([played(G4, 12.0, sigma=0.5)])
    correction = state.correct(0.0, B4)
    assert correction.offset_cents == pytest.approx(12.0)
    # squares add (GUM 5.1)
    assert correction.sigma_cents == pytest.approx(math.hypot(0.5, (G4 - B4) * USUAL_PULL_SIGMA_MM))
    assert not state.is_pull_solved


def test_a_stated_pull_is_taken_into_account_with_one_note() -> None:
    # 10 cents warm and 2 mm pulled: G4 lies 4 cents flat, B4 4 sharp
    state = find_day_state([played(G4, 10.0, 2.0, sigma=0.0)], stated_pull_mm=2.0)
    correction = state.correct(0.0, B4)
    assert correction.offset_cents == pytest.approx(4.0)
    assert correction.sigma_cents == pytest.approx((G4 - B4) * STATED_PULL_SIGMA_MM, rel=1e-3)


@pytest.mark.parametrize(("shift", "pull_mm"), [(-15.0, 0.0), (0.0, 2.0), (6.0, 1.0)])
def test_both_notes_tell_a_cold_instrument_from_a_pulled_barrel(
    shift: float, pull_mm: float
) -> None:
    state = find_day_state([played(each, shift, pull_mm) for each in (G4, B4)])
    assert state.is_pull_solved
    assert state.shift_cents[0] == pytest.approx(shift, abs=0.1)
    assert state.pull_mm == pytest.approx(pull_mm, abs=0.01)
    assert state.correct(0.0, 5.0).offset_cents == pytest.approx(shift - 5.0 * pull_mm, abs=0.05)
    # the difference of two notes that scatter, over the difference of their sensitivities
    scatter_mm = NOTE_SCATTER_CENTS * math.sqrt(2.0) / (G4 - B4)
    assert state.pull_sigma_mm == pytest.approx(scatter_mm, rel=0.02)


def test_the_pull_is_weighed_against_its_prior() -> None:
    # v^2 / (v^2 + 2 u^2 / (s1 - s2)^2) of what the notes say
    sigma = 1.0
    state = find_day_state([played(each, 6.0, 1.0, sigma=sigma) for each in (G4, B4)])
    prior, told = USUAL_PULL_SIGMA_MM**2, 2.0 * sigma**2 / (G4 - B4) ** 2
    assert state.pull_mm == pytest.approx(prior / (prior + told))


def test_between_two_occasions_the_shift_is_interpolated_in_time() -> None:
    notes = [played(each, -10.0, at_min=at) for each, at in ((G4, 0.0), (B4, 4.0))]
    notes += [played(each, 6.0, at_min=at) for each, at in ((G4, 98.0), (B4, 102.0))]
    state = find_day_state(notes)
    assert state.at_min == (2.0, 100.0)
    for at_min, expected in (
        (-30.0, -10.0), (2.0, -10.0), (51.0, -2.0), (75.5, 2.0), (100.0, 6.0), (300.0, 6.0),
    ):  # fmt: skip
        assert state.correct(at_min, 5.0).offset_cents == pytest.approx(expected, abs=1e-6)
    # halfway two independent shifts count half each: surer than either
    middle, end = (state.correct(at_min, 5.0).sigma_cents for at_min in (51.0, 100.0))
    assert middle == pytest.approx(end / math.sqrt(2.0), rel=0.1)
    assert state.mean_shift.offset_cents == pytest.approx(-2.0)


@pytest.mark.parametrize(("apart_min", "count"), [(OCCASION_MIN, 1), (OCCASION_MIN + 0.1, 2)])
def test_notes_near_each_other_are_one_occasion(apart_min: float, count: int) -> None:
    state = find_day_state([played(B4, 3.0, at_min=apart_min), played(B4, 5.0)])
    assert len(state.shift_cents) == count


def test_the_order_of_the_notes_changes_nothing() -> None:
    notes = [played(G4, 1.0), played(B4, 2.0, at_min=3.0), played(G4, 9.0, at_min=60.0)]
    assert find_day_state(notes) == find_day_state(notes[::-1])


def test_the_uncertainty_covers_what_made_up_days_show() -> None:
    # days drawn from the model itself: their errors have the stated standard deviation
    draw = np.random.default_rng(5)
    errors = []
    for _ in range(400):
        pull_mm = draw.normal(0.0, USUAL_PULL_SIGMA_MM)
        notes = [played(each, 4.0 + draw.normal(0.0, 0.5), pull_mm, sigma=0.5) for each in (G4, B4)]
        found = find_day_state(notes).correct(0.0, 8.0)
        errors.append((found.offset_cents - (4.0 - 8.0 * pull_mm)) / found.sigma_cents)
    assert np.std(errors) == pytest.approx(1.0, abs=0.1)


def test_a_day_without_notes_has_no_state() -> None:
    with pytest.raises(NoTuningNotes):
        find_day_state([])
