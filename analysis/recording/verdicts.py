"""Decision rules: the verdict on a take, and the warnings about it.

The limits are ours, set on made and real clips, each with near misses in the tests; none comes from
a standard. A tone must sound for 0.18 s, and under 0.3 s it is called short. A held pitch may move
by 100 cents in all (beyond that there is no one pitch to name), vibrato not counted, and is called
bent from 30 cents on. It must be known to 1.5 cents, and must not jerk about as no breath can make
it, else what sounds is noise: of made bands of noise nine in ten bend by 5e4 cents/s^2 and more
over 30 ms, and no held note, struck string or swell by more than 1.4e4, however deep it dies away
into noise. A second note counts when it is held for some 0.3 s within 20 dB of the first. A
multiphonic is looked for where no note was measured or the pitch stands still, since vibrato and
bends smear the lines that would tell. A pitch 35 cents and more from its target is nearer to
another note, from 90 cents on it is another note altogether.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.held_notes import HeldNote
from analysis.recording.measurement import TakeMeasurement, TakeWarning, Verdict
from analysis.recording.pitch_curve import PitchCurve
from analysis.recording.samples import (
    QUIET_RMS,
    find_flat_share,
    find_mean_power,
    has_dropout,
    is_clipped,
)

Floats = NDArray[np.floating[Any]]

SHORT_TONE_S = 0.3
MAX_MOVE_CENTS = 100.0
MAX_UNCERTAINTY_CENTS = 1.5
MAX_BEND_CENTS_PER_S2 = 3e4
BEND_ROWS = 3  # over which the pitch is averaged, so that noise that is only read in makes no bend
BENT_SO_SHARE = 90  # percent of the time that the pitch must bend less
BENT_CENTS = 30.0
UNSURE_CENTS = 0.8  # several notes may have a common part, badly known
SECOND_NOTE_FRAMES = 3
SECOND_NOTE_LEVEL = 10**-2.0
SAME_NOTE_CENTS = 40.0
SCATTERED_TONES = 3
MIN_ROWS = 4
STILL_VIBRATO_CENTS = 10.0
STILL_DRIFT_CENTS = 20.0
HUM_HZ = (50.0, 60.0, 100.0, 120.0)
HUM_WIDTH = 0.003
HUM_SPREAD_CENTS = 0.3
OTHER_NOTE_CENTS = 90.0
OVERDRIVEN_SHARE = 0.8  # of the time: nothing but the pitch is left, and noise is as loud
NEARER_CENTS = 35.0  # past the middle between two quarter tones, and the tuning's give
REGISTER_SLACK_CENTS = 80.0
# octave, twelfth, two octaves, and the twelfth's twelfth of an overblown clarinet, both ways
REGISTER_RATIOS = (2, 3, 4, 5)


def judge_missing_tone(held_notes: tuple[HeldNote, ...], *, has_tone: bool) -> Verdict:
    """Why there is no held tone: noise, one tone too short, or many that never hold still.

    Speech and quick passages come as many pieces of tone.
    """
    if not has_tone:
        return Verdict.NOISE
    return Verdict.TOO_SHORT if len(held_notes) < SCATTERED_TONES else Verdict.NO_STEADY_PITCH


def judge_pitch_curve(curve: PitchCurve, *, is_fluttered: bool = False) -> Verdict:
    """Whether a pitch curve holds one pitch, vibrato not counted, that is known well enough.

    Fluttering shakes the pitch, so how it jerks tells nothing then.
    """
    if len(curve.cents) < MIN_ROWS or measure_move(curve) > MAX_MOVE_CENTS:
        return Verdict.NO_STEADY_PITCH
    if curve.uncertainty_cents > MAX_UNCERTAINTY_CENTS:
        return Verdict.NOISE
    if not is_fluttered and _is_jerky(curve):
        return Verdict.NOISE
    return Verdict.OK


def _is_jerky(curve: PitchCurve) -> bool:
    """Whether the pitch bends quicker than a player's, vibrato taken off."""
    step_s = BEND_ROWS * float(np.median(np.diff(curve.times_s)))
    cents = np.convolve(curve.motion.slow_cents, np.ones(BEND_ROWS) / BEND_ROWS, "valid")
    if len(cents) <= 2 * BEND_ROWS:
        return False
    bends = np.abs(
        cents[2 * BEND_ROWS :] - 2 * cents[BEND_ROWS:-BEND_ROWS] + cents[: -2 * BEND_ROWS]
    )
    bends /= step_s**2
    return bool(np.percentile(bends, BENT_SO_SHARE) > MAX_BEND_CENTS_PER_S2)


def measure_move(curve: PitchCurve) -> float:
    """How far the pitch moves in all (5th to 95th percentile), vibrato taken off."""
    low, high = np.percentile(curve.motion.slow_cents, (5, 95))
    return float(high - low)


def may_be_multiphonic(measured: TakeMeasurement) -> bool:
    """Whether the spectrum can tell several notes from one: not while a sure pitch moves."""
    if not measured.is_usable:
        return True
    assert measured.f0_uncertainty_cents is not None
    if measured.f0_uncertainty_cents > UNSURE_CENTS:
        return True
    assert measured.drift_cents_per_s is not None and measured.steady_from_s is not None
    assert measured.steady_to_s is not None
    steady_s = measured.steady_to_s - measured.steady_from_s
    has_vibrato = (
        measured.vibrato is not None and measured.vibrato.extent_cents > STILL_VIBRATO_CENTS
    )
    is_drifting = abs(measured.drift_cents_per_s) * steady_s > STILL_DRIFT_CENTS
    return not (has_vibrato or is_drifting or TakeWarning.BENT in measured.warnings)


def name_quiet_noise(measured: TakeMeasurement, loudest_rms: float) -> TakeMeasurement:
    """Noise that is as quiet as a microphone left alone is called too quiet instead."""
    if measured.verdict is Verdict.NOISE and loudest_rms < QUIET_RMS:
        return TakeMeasurement(Verdict.TOO_QUIET, measured.duration_s)
    return measured


def find_reference_warnings(reference: TakeMeasurement | None) -> tuple[TakeWarning, ...]:
    """What to say about a session's takes, given the measurement of its tuning note (if any).

    >>> find_reference_warnings(None)
    (<TakeWarning.NO_TUNING_REFERENCE: 'no tuning reference'>,)
    """
    has_reference = reference is not None and reference.is_usable
    return () if has_reference else (TakeWarning.NO_TUNING_REFERENCE,)


def find_pitch_curve_warnings(curve: PitchCurve) -> tuple[TakeWarning, ...]:
    """What should be said about the pitch curve of a usable take."""
    return (TakeWarning.BENT,) if measure_move(curve) > BENT_CENTS else ()


def find_warnings(
    samples: NDArray[Any],
    measured: TakeMeasurement,
    *,
    held_notes: tuple[HeldNote, ...],
    expected_f0_hz: float | None,
) -> Iterator[TakeWarning]:
    """What should be said about a usable take, besides `find_pitch_curve_warnings`.

    `samples` of shape (n,), full scale -1 to 1: all of the take.
    """
    assert measured.f0_hz is not None and measured.steady_from_s is not None  # verdict is ok
    assert measured.steady_to_s is not None
    duration_s = measured.duration_s
    first = int(measured.steady_from_s / duration_s * len(samples))
    last = int(measured.steady_to_s / duration_s * len(samples)) + 1
    steady = samples[first:last]
    if is_clipped(steady):
        is_flat = find_flat_share(steady) > OVERDRIVEN_SHARE
        yield TakeWarning.OVERDRIVEN if is_flat else TakeWarning.CLIPPED
    if find_mean_power(steady) < QUIET_RMS**2:
        yield TakeWarning.TOO_QUIET
    elif has_dropout(steady, len(samples) / duration_s):
        yield TakeWarning.LOST_SOUND
    if has_second_note(held_notes):
        yield TakeWarning.TWO_NOTES
    if is_mains_hum(measured):
        yield TakeWarning.MAINS_HUM
    if expected_f0_hz is not None:
        yield from compare_with_target(measured.f0_hz, expected_f0_hz)


def is_mains_hum(measured: TakeMeasurement) -> bool:
    """Whether the pitch is one of the mains and stiller than any player holds a note.

    Mains are 50 or 60 Hz, kept within some 0.2%, and rectified they hum at the double (common
    knowledge, from memory). A player's spread is 0.5 cent and more.
    """
    if measured.f0_hz is None or measured.spread_cents is None:
        return False
    is_near = any(abs(measured.f0_hz / hum_hz - 1) < HUM_WIDTH for hum_hz in HUM_HZ)
    return is_near and measured.spread_cents < HUM_SPREAD_CENTS


def has_second_note(held_notes: tuple[HeldNote, ...]) -> bool:
    """Whether another note than the longest is held long and loud enough to be meant."""
    longest = held_notes[0]
    return any(
        len(held_note.times_s) >= SECOND_NOTE_FRAMES
        and held_note.level > SECOND_NOTE_LEVEL * longest.level
        and abs(1200 * np.log2(held_note.median_hz / longest.median_hz)) > SAME_NOTE_CENTS
        for held_note in held_notes[1:]
    )


def compare_with_target(f0_hz: float, expected_f0_hz: float) -> Iterator[TakeWarning]:
    """Whether the pitch is a register, or some other note, away from its target.

    >>> list(compare_with_target(1320.0, 440.0))
    [<TakeWarning.OTHER_REGISTER: 'other register'>]
    >>> list(compare_with_target(452.9, 440.0))  # a quarter tone
    [<TakeWarning.NEARER_TO_ANOTHER: 'nearer to another note'>]
    """
    offset = 1200 * np.log2(f0_hz / expected_f0_hz)
    for ratio in REGISTER_RATIOS:
        if abs(abs(offset) - 1200 * np.log2(ratio)) < REGISTER_SLACK_CENTS:
            yield TakeWarning.OTHER_REGISTER
            return
    if abs(offset) >= OTHER_NOTE_CENTS:
        yield TakeWarning.OTHER_NOTE
    elif abs(offset) >= NEARER_CENTS:
        yield TakeWarning.NEARER_TO_ANOTHER
