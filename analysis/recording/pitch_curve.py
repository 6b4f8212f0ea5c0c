"""Pitch curve of a steady part: order tracking, smoothing, the median and its uncertainty.

It starts from the phase advance of the partials (`phase_vocoder`, `phase_fit`), which forgives a
coarse pitch. The smooth pitch profile found so is what the note is resampled by (`order_tracking`);
what the partials' phases then say together (`joint_phase`), smoothed (`whittaker`), corrects the
profile, again while it moves. Windows reach a little beyond the steady part, so that its ends are
no ends of the curve.

The uncertainty is one standard deviation of the median: the scatter of the medians of curves drawn
from the posterior of the smoother (`whittaker`), and what the partials' disagreement does to the
median.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.joint_phase import (
    JointPhase,
    combine_phases,
    find_disagreement,
    widen_for_few,
)
from analysis.recording.order_statistics import pick_quantile
from analysis.recording.order_tracking import OrderTrackedNote, PitchProfile, track_orders
from analysis.recording.phase_fit import CENTS, CombinedPitch, combine_partials, estimate_snr
from analysis.recording.phase_vocoder import HarmonicTrack
from analysis.recording.samples import Samples
from analysis.recording.steady_part import SteadyPart
from analysis.recording.vibrato import PitchMotion, find_motion
from analysis.recording.whittaker import Smoothing, find_smoothing

Floats = NDArray[np.floating[Any]]

MARGIN_S = 0.03
READING_S = 0.05  # what the first profile must reach beyond the steady part
MOST_BENDS = 3
MOVED_CENTS = 0.1
STEP_S = 2.5e-4  # a vibrato crosses its median steeply
MOST_POINTS = 20_000
DRAWN_POINTS = 2_000
DRAWS = 64
DRAW_SEED = 20
DRAWN_AT_ONCE = 300_000  # numbers
NEAR_SHARE = 0.15  # of the middle half of all pitches: what lies so near moves the median
LEAST_NEAR_CENTS = 1e-6
ROUNDING_CENTS = 2e-5
LEAST_SNR = 1e-3
TURN = 2 * np.pi


@dataclass(frozen=True, slots=True)
class PitchCurve:
    """Pitch over the steady part in cents from its median, which is `f0_hz`; equal steps of turns.

    `times_s` and `cents` have shape (m,); times in seconds from the start of the samples.

    `uncertainty_cents` is one standard deviation of that median; `motion` is what the curve does:
    its drift, its vibrato and the rest.
    """

    times_s: Floats
    cents: Floats
    f0_hz: float
    uncertainty_cents: float
    motion: PitchMotion


@dataclass(frozen=True, slots=True)
class _Reading:
    """A note after order tracking, its joint phase in turns against a reference, its smoothing."""

    note: OrderTrackedNote
    snr: Floats
    joint: JointPhase
    reference_hz: float
    phase: Floats
    smoothing: Smoothing

    def find_hz(self, phases: Floats) -> Floats:
        """Pitch at each window for smoothed phases (m,) or (m, c)."""
        per_window = _find_slopes(phases)
        step_s = self.note.turns * self.note.period_s
        return np.asarray(self.reference_hz + (per_window.T / step_s).T)


def find_pitch_curve(
    samples: Samples, track: HarmonicTrack, steady_part: SteadyPart
) -> PitchCurve | None:
    """Find the pitch curve of a steady part; None where it is too short for one.

    `samples` of shape (n,), full scale -1 to 1; the track and the steady part are of the same
    samples.
    """
    span_s = (float(track.times_s[steady_part.rows][0]), float(track.times_s[steady_part.rows][-1]))
    wide_s = (span_s[0] - MARGIN_S, span_s[1] + MARGIN_S)
    rows = _find_rows(track, wide_s)
    profile = _find_first_profile(combine_partials(track, rows), track, rows)
    snr_per_s = estimate_snr(track, rows) / track.grid.window_s
    reading = None
    for _ in range(MOST_BENDS):
        note = track_orders(
            samples, track.grid.sample_rate_hz, profile, wide_s, partials=len(snr_per_s)
        )
        if note is None:
            return None
        reading = _read(note, np.maximum(snr_per_s * note.window_s, LEAST_SNR))
        before = np.interp(note.times_s, profile.times_s, profile.f0_hz)
        profile = PitchProfile(note.times_s, reading.find_hz(reading.smoothing.fit(reading.phase)))
        if CENTS * np.sqrt(np.mean(np.log(profile.f0_hz / before) ** 2)) < MOVED_CENTS:
            break
    assert reading is not None  # MOST_BENDS is not 0
    return _judge(reading, span_s)


def _find_rows(track: HarmonicTrack, wide_s: tuple[float, float]) -> slice:
    inside = np.flatnonzero(
        (track.times_s >= wide_s[0] - READING_S) & (track.times_s <= wide_s[1] + READING_S)
    )
    return slice(int(inside[0]), int(inside[-1]) + 1)


def _find_first_profile(combined: CombinedPitch, track: HarmonicTrack, rows: slice) -> PitchProfile:
    """The joined pitch smoothed, and the averaging of its long windows undone to second order."""
    phase = np.concatenate(([0.0], np.cumsum(combined.cents)))
    smoothing = find_smoothing(phase, combined.phase_variance, is_rough=True)
    cents = np.diff(smoothing.fit(phase))
    bend = np.diff(np.pad(cents, 1, mode="reflect", reflect_type="odd"), 2)
    cents -= 0.5 * combined.blur_hops**2 * bend
    return PitchProfile(track.times_s[rows], combined.reference_hz * np.exp(cents / CENTS))


def _read(note: OrderTrackedNote, snr: Floats) -> _Reading:
    """The order-tracked note read for the first time; `snr` is that of one window."""
    joint = combine_phases(note.phasors, snr)
    reference_hz = 1 / float(np.median(note.period_s))
    phase = note.drift_turns(reference_hz) + joint.radians / TURN
    smoothing = find_smoothing(phase, joint.variance / TURN**2)
    return _Reading(note, snr, joint, reference_hz, phase, smoothing)


def _read_again(reading: _Reading, disagreement: float) -> _Reading:
    """The same note with other weights for its partials; its trend is as rough as before."""
    joint = combine_phases(reading.note.phasors, reading.snr, disagreement)
    phase = reading.note.drift_turns(reading.reference_hz) + joint.radians / TURN
    smoothing = reading.smoothing.with_variance(joint.variance / TURN**2)
    return replace(reading, joint=joint, phase=phase, smoothing=smoothing)


def _judge(reading: _Reading, span_s: tuple[float, float]) -> PitchCurve:
    """The curve once the partials' disagreement is known, with its median's uncertainty."""
    astray_cents = 0.0
    if reading.note.phasors.shape[1] > 1:
        influence = _find_influence(reading, span_s)
        variance = find_disagreement(reading.joint, influence)
        if variance > 0:
            reading = _read_again(reading, variance / float(influence @ influence))
        shares = reading.joint.shares
        astray = widen_for_few(shares) * np.sqrt(variance * float(shares @ shares))
        astray_cents = float(astray) / TURN * CENTS / (reading.reference_hz * reading.note.hop_s)
    fitted = reading.smoothing.fit(reading.phase)
    points = min(MOST_POINTS, 1 + round((span_s[1] - span_s[0]) / STEP_S))
    f0_hz = float(np.median(_look_between(reading, fitted[:, np.newaxis], span_s, points)))
    drawn = CENTS * np.log(_draw_medians(reading, span_s) / f0_hz)
    times_s = reading.note.times_s
    inside = (times_s >= span_s[0]) & (times_s <= span_s[1])
    pitch_hz = reading.find_hz(fitted)[inside]
    cents = CENTS * np.log(pitch_hz / f0_hz)
    return PitchCurve(
        times_s=times_s[inside],
        cents=cents,
        f0_hz=f0_hz,
        uncertainty_cents=float(np.sqrt(np.var(drawn) + astray_cents**2 + ROUNDING_CENTS**2)),
        motion=find_motion(times_s[inside], cents),
    )


def _draw_medians(reading: _Reading, span_s: tuple[float, float]) -> Floats:
    """Median pitch of curves that are as likely as the one found, some at a time."""
    rng = np.random.default_rng(DRAW_SEED)
    medians = []
    for share, smoother in reading.smoothing.smoothers:
        left = max(1, round(share * DRAWS))
        while left > 0:
            some = min(left, max(1, DRAWN_AT_ONCE // len(reading.phase)))
            drawn = smoother.draw(reading.phase, reading.smoothing.variance, rng, some)
            medians.append(pick_quantile(_look_between(reading, drawn, span_s, DRAWN_POINTS)))
            left -= some
    return np.concatenate(medians)


def _look_between(
    reading: _Reading, phases: Floats, span_s: tuple[float, float], points: int
) -> Floats:
    """Pitch in Hz at so many times of a span, or at each window, for columns of smoothed phases."""
    pitch_hz = reading.find_hz(phases)
    times_s = reading.note.times_s
    if len(times_s) >= points:
        inside = (times_s >= span_s[0]) & (times_s <= span_s[1])
        return pitch_hz[inside]
    at_s = np.linspace(*span_s, points)
    return _interpolate(at_s, times_s, pitch_hz)


def _interpolate(at_s: Floats, times_s: Floats, rows: Floats) -> Floats:
    """Rows at times between theirs, by Lagrange's cubic through four neighbours."""
    low = np.clip(np.searchsorted(times_s, at_s, side="right") - 1, 1, len(times_s) - 3)
    x = ((at_s - times_s[low]) / (times_s[low + 1] - times_s[low]))[:, np.newaxis]
    weighed = [rows[low - 1 + at] * weight for at, weight in enumerate(_weigh_neighbours(x))]
    return np.asarray(sum(weighed))


def _weigh_neighbours(x: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """What the values at -1, 0, 1 and 2 count at places x from 0 to 1: Lagrange's cubic.

    >>> [float(weight) for weight in _weigh_neighbours(np.array(0.5))]
    [-0.0625, 0.5625, 0.5625, -0.0625]
    """
    before, after = x * (x - 1), (x + 1) * (x - 2)
    return (x - 2) * before / -6, (x - 1) * after / 2, x * after / -2, (x + 1) * before / 6


def _find_slopes(values: Floats) -> Floats:
    """Slopes per step of the cubic spline through values (m,) or (m, c); parabolas at the ends."""
    from scipy.linalg import (
        solve_banded,
    )  # late: scipy loads slowly, and most pages measure nothing

    count = len(values)
    bands = np.ones((3, count))
    bands[1] = 4.0
    bands[1, [0, -1]] = 1.0
    bands[0, 1] = bands[2, -2] = 0.0
    right = np.empty_like(values)
    right[1:-1] = 3 * (values[2:] - values[:-2])
    right[0] = -1.5 * values[0] + 2 * values[1] - 0.5 * values[2]
    right[-1] = 1.5 * values[-1] - 2 * values[-2] + 0.5 * values[-3]
    return np.asarray(solve_banded((1, 1), bands, right))


def _find_influence(reading: _Reading, span_s: tuple[float, float]) -> Floats:
    """How the mean slope of the pitches near the median follows from the phases, one window each.

    Only pitches near the median move it; each is the slope of a smoothed phase.
    """
    times_s = reading.note.times_s
    inside = (times_s >= span_s[0]) & (times_s <= span_s[1])
    cents = CENTS * np.log(
        reading.find_hz(reading.smoothing.fit(reading.phase)) / reading.reference_hz
    )
    low, middle, high = np.percentile(cents[inside], (25, 50, 75))
    near_cents = max(NEAR_SHARE * (high - low), LEAST_NEAR_CENTS)
    weight = np.where(inside, np.exp(-0.5 * ((cents - middle) / near_cents) ** 2), 0.0)
    weight /= weight.sum()
    # the slope at a window is half the difference of its neighbours; the smoother is symmetric
    slope = 0.5 * (np.pad(weight, (1, 0))[:-1] - np.pad(weight, (0, 1))[1:])
    slope[0] -= 0.5 * weight[0]
    slope[-1] += 0.5 * weight[-1]
    return reading.smoothing.likeliest.fit(slope[:, np.newaxis])[:, 0]
