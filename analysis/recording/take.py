"""Measurement of one take, from samples to `TakeMeasurement`: the steps in their order.

Readable samples (`samples`) -> fundamental frequency of each frame by harmonic matching
(`coarse_pitch`) -> note segmentation (`held_notes`) -> phase vocoder (`phase_vocoder`) -> steady
part (`steady_part`) -> order tracking and smoothing to the pitch curve, with drift and vibrato
(`pitch_curve`) -> the partials again (`partials`) and their timbre (`colour`) -> warnings
(`verdicts`). Each step that can't go on names its verdict.

What is no plainly held note is looked for where the way did not go straight: flutter-tonguing
(`amplitude_modulation`), a pitch that the lines of the spectrum don't bear out (`harmonicity`) or
without its fundamental (`missing_fundamental`), trills, slides and talk (`techniques`), and notes
that sound together (`multiphonic`, `neighbouring_notes`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.amplitude_modulation import find_flutter_rate
from analysis.recording.coarse_pitch import CoarseFrames, find_pitches, make_coarse_frames
from analysis.recording.colour import (
    find_amplitudes,
    find_breath_noise_db,
    find_brightness,
    find_odd_even_db,
    make_spectrum,
)
from analysis.recording.harmonicity import (
    SURE_DB,
    is_doubtful,
    is_harmonic,
    lacks_fundamental,
)
from analysis.recording.held_notes import HeldNote, find_held_notes
from analysis.recording.measurement import (
    MIN_TONE_S,
    Component,
    PitchTrace,
    TakeMeasurement,
    TakeWarning,
    Verdict,
)
from analysis.recording.missing_fundamental import (
    follow_contour,
    have_fundamentals,
    is_on_contour,
    stands_alone,
)
from analysis.recording.multiphonic import find_components
from analysis.recording.neighbouring_notes import find_neighbours
from analysis.recording.partials import PartialReadings, read_partials
from analysis.recording.phase_fit import CENTS, combine_partials
from analysis.recording.phase_vocoder import HarmonicTrack, lay_grid, track_harmonics
from analysis.recording.pitch_contour import Contour, trace_contour
from analysis.recording.pitch_curve import PitchCurve, find_pitch_curve
from analysis.recording.room_noise import find_room_power, is_breath_audible
from analysis.recording.samples import SILENCE_RMS, Samples, find_loudest_rms, is_readable
from analysis.recording.spectral_change import find_longest_run
from analysis.recording.steady_part import SteadyPart, find_steady_part, is_noise_like
from analysis.recording.techniques import (
    is_overtone,
    may_be_technique,
    name_alternation,
    name_slide_or_speech,
)
from analysis.recording.time_to_speak import find_time_to_speak_s
from analysis.recording.verdicts import (
    SHORT_TONE_S,
    find_pitch_curve_warnings,
    find_warnings,
    judge_missing_tone,
    judge_pitch_curve,
    may_be_multiphonic,
    name_quiet_noise,
)

Floats = NDArray[np.floating[Any]]

TRACE_STEP_S = 0.02
TRACE_POINTS = 500
LEAST_STILL_S = 0.5


@dataclass(frozen=True, slots=True)
class _Note:
    """The held note that is measured, as far as it was found."""

    held_note: HeldNote
    track: HarmonicTrack
    steady_part: SteadyPart


def measure_take(
    samples: NDArray[np.floating[Any]],
    sample_rate_hz: float,
    *,
    expected_f0_hz: float | None = None,
) -> TakeMeasurement:
    """Measure one held note: median pitch, steadiness, brightness, and what stands against them.

    Order tracking lets the pitch stand still; the phases of up to 24 partials are then combined by
    weighted least squares and smoothed (Whittaker, strength by restricted likelihood); the median
    of this pitch curve over the steady part is the pitch. The stated uncertainty is one standard
    deviation of that median.

    Parameters: `samples` of shape (n,), float, full scale -1 to 1; `sample_rate_hz` from 8,000 to
    192,000; `expected_f0_hz` the sounding pitch of the target, which never moves the result and
    only adds the warnings "other register" and "other note".

    Returns a `TakeMeasurement`. It never raises for bad sound: empty, multi-channel or integer
    arrays, NaN or infinity, or a rate out of range give `Verdict.UNREADABLE`.

    Limits: one note of 48 to 2600 Hz held for at least 0.18 s. A recorder's clock that is 100 ppm
    off shifts every pitch by 0.17 cent, which no measurement of the clip can see and which the
    uncertainty does not include.

    Source: the modules named above, each with its own; instantaneous frequency after Flanagan &
    Golden (1966), order tracking, the smoother after Whittaker with restricted likelihood.

    >>> import numpy as np
    >>> time_s = np.arange(48_000) / 48_000
    >>> take = measure_take(0.3 * np.sin(2 * np.pi * 442.0 * time_s), 48_000)
    >>> take.verdict.value, round(take.f0_hz, 3)
    ('ok', 442.0)
    """
    samples = np.asarray(samples)
    if not is_readable(samples, sample_rate_hz):
        return TakeMeasurement(Verdict.UNREADABLE, duration_s=0.0)
    if samples.dtype.itemsize < 4:  # half precision would overflow in sums of squares
        samples = samples.astype(np.float32)
    duration_s = len(samples) / sample_rate_hz
    loudest_rms = find_loudest_rms(samples, sample_rate_hz)
    if loudest_rms < SILENCE_RMS or duration_s < MIN_TONE_S:
        is_silent = loudest_rms < SILENCE_RMS
        return TakeMeasurement(Verdict.SILENCE if is_silent else Verdict.TOO_SHORT, duration_s)
    return _Take(samples, sample_rate_hz, loudest_rms, expected_f0_hz).measure()


@dataclass(frozen=True, slots=True)
class _Take:
    """Samples that hold sound, and what is asked about them."""

    samples: Samples
    rate_hz: float
    loudest_rms: float
    expected_f0_hz: float | None

    def measure(self) -> TakeMeasurement:
        """A plain note first, then whatever else it may be."""
        samples, rate_hz = self.samples, self.rate_hz
        frames = make_coarse_frames(samples, rate_hz)
        held_notes = find_held_notes(frames, find_pitches(frames))
        measured = _measure_note(samples, rate_hz, frames, held_notes)
        flutter_hz = find_flutter_rate(samples, rate_hz)
        is_unsure = is_doubtful(measured, frames)
        if flutter_hz or is_unsure or may_be_technique(measured, held_notes):
            contour = trace_contour(samples, rate_hz)
            named = (
                self._name_alternation(frames, contour, measured)
                or (flutter_hz and self._measure_flutter(frames, contour, flutter_hz))
                or name_slide_or_speech(contour, measured)
            )
            if named:
                return named
            if is_unsure:
                measured, held_notes = self._settle(frames, contour, measured, held_notes)
        components = find_simultaneous(samples, frames, measured)
        if components:
            duration_s = measured.duration_s
            return TakeMeasurement(Verdict.MULTIPHONIC, duration_s, components=components)
        return self._warn(measured, held_notes)

    def _warn(self, measured: TakeMeasurement, held_notes: tuple[HeldNote, ...]) -> TakeMeasurement:
        if not measured.is_usable:
            return name_quiet_noise(measured, self.loudest_rms)
        warnings = find_warnings(
            self.samples, measured, held_notes=held_notes, expected_f0_hz=self.expected_f0_hz
        )
        return measured.with_warnings(*warnings)

    def _name_alternation(
        self, frames: CoarseFrames, contour: Contour, measured: TakeMeasurement
    ) -> TakeMeasurement | None:
        """A trill or tremolo; a sure note and its overtone, taken for it by turns, are none."""
        named = name_alternation(self.samples, self.rate_hz, contour)
        if named is None or named.alternation is None or named.verdict is Verdict.TRILL:
            return named
        if not have_fundamentals((named.alternation.low_hz, named.alternation.high_hz), frames):
            return None
        if not measured.is_usable:
            return named
        if lacks_fundamental(measured):
            return None if stands_alone(measured, contour, frames) else named
        return None if is_overtone(named.alternation) else named

    def _measure_flutter(
        self, frames: CoarseFrames, contour: Contour, flutter_hz: float
    ) -> TakeMeasurement | None:
        """A fluttered note by its contour: sidebands mislead the spectrum, and not the contour."""
        held_note = follow_contour(contour)
        if held_note is None:
            return None
        first, last = (int(each * self.rate_hz) for each in (held_note.from_s, held_note.to_s))
        if find_neighbours(self.samples[max(0, first) : last], self.rate_hz):
            return None
        measured = _measure_note(
            self.samples, self.rate_hz, frames, (held_note,), is_fluttered=True
        )
        if not measured.is_usable or not is_on_contour(measured, contour):
            return None
        measured = replace(measured, flutter_hz=flutter_hz)
        if is_doubtful(measured, frames) and not stands_alone(measured, contour, frames):
            return None
        return self._warn(measured.with_warnings(TakeWarning.FLUTTER_TONGUE), (held_note,))

    def _settle(
        self,
        frames: CoarseFrames,
        contour: Contour,
        measured: TakeMeasurement,
        held_notes: tuple[HeldNote, ...],
    ) -> tuple[TakeMeasurement, tuple[HeldNote, ...]]:
        """A doubtful pitch: kept, or given up; without a fundamental also the contour's instead."""
        if stands_alone(measured, contour, frames):
            return measured, held_notes
        held_note = follow_contour(contour)
        if held_note is not None and lacks_fundamental(measured, SURE_DB):
            again = _measure_note(self.samples, self.rate_hz, frames, (held_note,))
            is_sound = again.is_usable and not is_doubtful(again, frames)
            if is_sound and is_harmonic(again, frames):
                return again, (held_note,)
        verdict = Verdict.NOISE if held_note is None else Verdict.NO_CLEAR_PITCH
        return TakeMeasurement(verdict, measured.duration_s), held_notes


def find_simultaneous(
    samples: Samples, frames: CoarseFrames, measured: TakeMeasurement
) -> tuple[Component, ...]:
    """The notes that sound at once in the longest run of a take; empty where it is one, or none.

    `samples` of shape (n,), full scale -1 to 1, of which `frames` are the spectra.
    """
    run = find_longest_run(frames)
    neighbours = find_neighbours(
        samples[_find_still_part(frames, run, measured)], frames.sample_rate_hz
    )
    if neighbours or not may_be_multiphonic(measured):
        return neighbours
    return find_components(frames, run)


def _find_still_part(frames: CoarseFrames, run: slice, measured: TakeMeasurement) -> slice:
    """The steady part in samples, or the longest run where that is short or missing."""
    span_s = frames.centres_s[run][[0, -1]] if run.stop > run.start else np.zeros(2)
    if measured.is_usable:
        assert measured.steady_from_s is not None and measured.steady_to_s is not None
        if measured.steady_to_s - measured.steady_from_s >= LEAST_STILL_S:
            span_s = np.array([measured.steady_from_s, measured.steady_to_s])
    first, last = (int(each * frames.sample_rate_hz) for each in span_s)
    return slice(first, last)


def _measure_note(
    samples: Samples,
    rate_hz: float,
    frames: CoarseFrames,
    held_notes: tuple[HeldNote, ...],
    *,
    is_fluttered: bool = False,
) -> TakeMeasurement:
    """The longest held note, or the verdict that none can be measured."""
    duration_s = len(samples) / rate_hz
    note = _find_note(samples, rate_hz, held_notes, is_fluttered=is_fluttered)
    if note is None or note.steady_part.sounding_s < MIN_TONE_S:
        return _report_missing_tone(duration_s, held_notes, note)
    curve = find_pitch_curve(samples, note.track, note.steady_part)
    if curve is None:
        return _report_missing_tone(duration_s, held_notes, note)
    verdict = judge_pitch_curve(curve, is_fluttered=is_fluttered)
    if verdict is not Verdict.OK:
        return TakeMeasurement(verdict, duration_s)
    report = _report(samples, frames, note, curve)
    if note.steady_part.sounding_s < SHORT_TONE_S:
        report = report.with_warnings(TakeWarning.SHORT)
    return report.with_warnings(*find_pitch_curve_warnings(curve))


def _find_note(
    samples: Samples, rate_hz: float, held_notes: tuple[HeldNote, ...], *, is_fluttered: bool
) -> _Note | None:
    if not held_notes:
        return None
    grid = lay_grid(held_notes[0], len(samples), rate_hz)
    if grid is None:
        return None
    track = track_harmonics(samples, held_notes[0], grid)
    steady_part = find_steady_part(track)
    if steady_part is None or (not is_fluttered and is_noise_like(track, steady_part)):
        return None
    return _Note(held_notes[0], track, steady_part)


def _report_missing_tone(
    duration_s: float, held_notes: tuple[HeldNote, ...], note: _Note | None
) -> TakeMeasurement:
    verdict = judge_missing_tone(held_notes, has_tone=note is not None)
    if verdict is not Verdict.TOO_SHORT or note is None:
        return TakeMeasurement(verdict, duration_s)
    return TakeMeasurement(
        verdict,
        duration_s,
        steady_from_s=round(note.steady_part.sounds_from_s, 4),
        steady_to_s=round(note.steady_part.sounds_to_s, 4),
    )


def _report(
    samples: Samples, frames: CoarseFrames, note: _Note, curve: PitchCurve
) -> TakeMeasurement:
    rows, rate_hz = note.steady_part.rows, note.track.grid.sample_rate_hz
    times_s = note.track.times_s[rows]
    f0_hz = curve.f0_hz
    readings = read_partials(samples, rate_hz, curve)
    amplitudes = find_amplitudes(readings)
    brightness = find_brightness(amplitudes)
    from_s, to_s = float(times_s[0]), float(times_s[-1])
    return TakeMeasurement(
        Verdict.OK,
        len(samples) / rate_hz,
        f0_hz=f0_hz,
        f0_uncertainty_cents=curve.uncertainty_cents,
        spread_cents=1.4826 * float(np.median(np.abs(curve.cents))),
        drift_cents_per_s=curve.motion.drift_cents_per_s,
        vibrato=curve.motion.vibrato,
        centroid_hz=None if brightness is None else brightness * f0_hz,
        brightness_partials=brightness,
        odd_even_db=find_odd_even_db(amplitudes),
        breath_noise_db=_find_breath_db(samples, note, f0_hz, readings, amplitudes),
        time_to_speak_s=find_time_to_speak_s(
            samples, rate_hz, f0_hz=f0_hz, steady_from_s=from_s, steady_to_s=to_s
        ),
        steady_from_s=from_s,
        steady_to_s=to_s,
        trace=_make_trace(note, curve),
        spectrum=make_spectrum(frames, amplitudes, f0_hz=f0_hz, from_s=from_s, to_s=to_s),
    )


def _find_breath_db(
    samples: Samples, note: _Note, f0_hz: float, readings: PartialReadings, amplitudes: Floats
) -> float | None:
    """Breath noise, where the clip's silent part leaves it to be heard."""
    breath_db = find_breath_noise_db(readings, amplitudes)
    if breath_db is None:
        return None
    steady_part = note.steady_part
    room_power = find_room_power(
        samples,
        note.track.grid.sample_rate_hz,
        sounds_s=(steady_part.sounds_from_s, steady_part.sounds_to_s),
        band_hz=(f0_hz, f0_hz * (len(amplitudes) + 1)),
    )
    tone_power = float(np.sum(amplitudes**2)) / 2
    return breath_db if is_breath_audible(breath_db, tone_power, room_power) else None


def _make_trace(note: _Note, curve: PitchCurve) -> PitchTrace:
    """The pitch over the whole note: the smooth curve where steady, plain joining at the ends."""
    steady_part, track = note.steady_part, note.track
    whole = combine_partials(track, slice(None))
    cents = whole.cents + CENTS * np.log(whole.reference_hz / curve.f0_hz)
    cents[steady_part.rows] = np.interp(track.times_s[steady_part.rows], curve.times_s, curve.cents)
    half_s = track.grid.window_s / 2
    is_shown = (track.times_s >= steady_part.sounds_from_s + half_s / 2) & (
        track.times_s <= steady_part.sounds_to_s - half_s / 2
    )
    shown = np.flatnonzero(is_shown)
    span_s = float(track.times_s[shown[-1]] - track.times_s[shown[0]])
    step_s = max(TRACE_STEP_S, span_s / (TRACE_POINTS - 1))
    grid_s = track.times_s[shown[0]] + step_s * np.arange(int(span_s / step_s + 1e-6) + 1)
    f0_hz = curve.f0_hz * 2 ** (np.interp(grid_s, track.times_s, cents) / 1200)
    return PitchTrace(
        tuple(round(float(time), 3) for time in grid_s),
        tuple(round(float(hz), 3) for hz in f0_hz),
    )
