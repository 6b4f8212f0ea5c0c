"""Day's state by weighted least squares with a Gaussian prior: a shift of all notes, and a pull.

On a day all notes of an instrument move together: air and reed shift them by a common number of
cents, and a pulled barrel lowers each by its own sensitivity. Tuning notes tell the two apart where
their sensitivities differ, as those of open G4 and B4 do (see `barrel_pull`). The model of tuning
note i, played on occasion k, is

    y_i = shift_k - s_i pull + e_i,    e_i ~ N(0, u_i^2),    pull ~ N(m, v^2)

with y_i its offset in cents, s_i its sensitivity in cents per mm, u_i its standard uncertainty. The
shifts have a flat prior, the pull that of the day: what the player measured, else no pull beyond
the usual. With H the matrix of the model and W of the weights 1 / u_i^2, the posterior is Gaussian
with precision P = H' W H + diag(0, ..., 1 / v^2) and mean P^-1 (H' W y + (0, ..., m / v^2)). A
single note leaves the pull at its prior, so that a note of its own sensitivity is corrected by its
very offset; two notes of an occasion that differ solve it.

Notes within `OCCASION_MIN` of one another form one occasion. Between occasions the shift is
interpolated linearly in time, since an instrument warms while it is played; before the first and
after the last it stays.

The player's own scatter from note to note is no part of u_i, as it is none of a take's (see
`pooling`): a correction lies between the offsets of the two notes, or near them, so it is no
further off than with one of them. The pull rests on their difference alone, so its stated
uncertainty carries that scatter.

Source: Bayesian linear regression, such as Gelman et al., Bayesian Data Analysis, chapter 14, from
memory. The standard deviations of the priors and of the scatter are judgement.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from analysis.day.errors import NoTuningNotes

OCCASION_MIN = 20.0
USUAL_PULL_SIGMA_MM = 0.3
STATED_PULL_SIGMA_MM = 0.2
NOTE_SCATTER_CENTS = 1.5
_LEAST_SIGMA_CENTS = 0.001
# Notes of one occasion that differ by so much solve the pull.
_TELLING_CENTS_PER_MM = 2.0


class PlayedNote(NamedTuple):
    """A tuning note: when it was played, how far off it lay, and what 1 mm of pull does to it.

    `at_min` counts minutes from any moment that is the same for all; `offset_cents` is its distance
    from where it belongs, with the standard uncertainty `sigma_cents`.
    """

    at_min: float
    offset_cents: float
    sigma_cents: float
    pull_effect_cents_per_mm: float


class DayCorrection(NamedTuple):
    """How far the day moved a note, with its standard uncertainty, in cents."""

    offset_cents: float
    sigma_cents: float


@dataclass(frozen=True, slots=True)
class DayState:
    """The state of a day: the shift on each occasion, and the pull of the barrel.

    `at_min` is the middle of each occasion and rises; `shift_cents` belongs to it. `covariance` is
    that of the shifts and of the pull, in this order: cents and millimetres.
    """

    at_min: tuple[float, ...]
    shift_cents: tuple[float, ...]
    pull_mm: float
    pull_sigma_mm: float
    covariance: tuple[tuple[float, ...], ...]
    is_pull_solved: bool
    """Whether notes of one occasion told the pull, rather than its prior."""

    def correct(self, at_min: float, pull_effect_cents_per_mm: float) -> DayCorrection:
        """Find how far the day moved a note that was played at a moment.

        Args:
            at_min: when, in minutes from the moment that the tuning notes count from.
            pull_effect_cents_per_mm: of the note, as from `find_pull_effect`.
        """
        row = np.append(self._weigh_occasions(at_min), -pull_effect_cents_per_mm)
        state = np.append(self.shift_cents, self.pull_mm)
        variance = float(row @ np.array(self.covariance) @ row)
        return DayCorrection(float(row @ state), math.sqrt(max(variance, 0.0)))

    @property
    def mean_shift(self) -> DayCorrection:
        """The mean of the shifts of all occasions, with its standard uncertainty."""
        count = len(self.shift_cents)
        row = np.append(np.full(count, 1.0 / count), 0.0)
        variance = float(row @ np.array(self.covariance) @ row)
        return DayCorrection(sum(self.shift_cents) / count, math.sqrt(max(variance, 0.0)))

    def _weigh_occasions(self, at_min: float) -> list[float]:
        """Weigh the occasions round a moment: linear between two, else the nearest alone."""
        each = np.eye(len(self.at_min))
        return [float(np.interp(at_min, self.at_min, one)) for one in each]


def find_day_state(notes: Sequence[PlayedNote], *, stated_pull_mm: float | None = None) -> DayState:
    """Infer the state of a day from its tuning notes.

    Args:
        notes: at least one, in any order.
        stated_pull_mm: how far the player pulled the barrel; None where nobody said.

    Raises:
        NoTuningNotes: there are none.

    >>> g4, b4 = PlayedNote(0.0, -2.0, 0.02, 7.0), PlayedNote(1.0, 2.0, 0.02, 3.0)
    >>> state = find_day_state([g4, b4])  # 5 cents warm, and 1 mm pulled
    >>> round(state.shift_cents[0], 1), round(state.pull_mm, 1)
    (5.0, 1.0)
    """
    if not notes:
        raise NoTuningNotes("There is no tuning note to tell the day by. Record one.")
    occasions = _gather(notes)
    rising = [note for occasion in occasions for note in occasion]
    count = len(occasions)
    model = np.zeros((len(rising), count + 1))
    places = [place for place, occasion in enumerate(occasions) for _ in occasion]
    model[np.arange(len(rising)), places] = 1.0
    model[:, count] = [-note.pull_effect_cents_per_mm for note in rising]
    weights = np.array([max(note.sigma_cents, _LEAST_SIGMA_CENTS) ** -2.0 for note in rising])
    prior_sigma_mm = USUAL_PULL_SIGMA_MM if stated_pull_mm is None else STATED_PULL_SIGMA_MM
    prior = np.zeros(count + 1)
    prior[count] = prior_sigma_mm**-2.0
    covariance = np.linalg.inv(model.T @ (weights[:, np.newaxis] * model) + np.diag(prior))
    gains = covariance @ model.T * weights
    offsets = np.array([note.offset_cents for note in rising])
    state = gains @ offsets + covariance @ (prior * (stated_pull_mm or 0.0))
    scatter_mm = NOTE_SCATTER_CENTS * float(np.linalg.norm(gains[count]))
    return DayState(
        at_min=tuple(sum(note.at_min for note in each) / len(each) for each in occasions),
        shift_cents=tuple(float(each) for each in state[:count]),
        pull_mm=float(state[count]),
        pull_sigma_mm=math.hypot(math.sqrt(covariance[count, count]), scatter_mm),
        covariance=tuple(tuple(float(each) for each in row) for row in covariance),
        is_pull_solved=any(_tells_pull(each) for each in occasions),
    )


def _gather(notes: Sequence[PlayedNote]) -> list[list[PlayedNote]]:
    """Gather notes into occasions, oldest first."""
    occasions: list[list[PlayedNote]] = []
    for note in sorted(notes):
        if occasions and note.at_min - occasions[-1][0].at_min <= OCCASION_MIN:
            occasions[-1].append(note)
        else:
            occasions.append([note])
    return occasions


def _tells_pull(occasion: Sequence[PlayedNote]) -> bool:
    effects = [note.pull_effect_cents_per_mm for note in occasion]
    return max(effects) - min(effects) >= _TELLING_CENTS_PER_MM
