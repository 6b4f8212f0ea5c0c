"""Each verdict and warning with a made clip that brings it out, and near misses that don't."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.recording import (
    TakeMeasurement,
    TakeWarning,
    Verdict,
    find_reference_warnings,
    measure_take,
)
from tests.analysis.recording.sounds import reverberate, speak
from tests.analysis.recording.tones import Tone, make_noise
from tests.thinning import each_daily

RATE = 44_100
Samples = NDArray[np.float64]


def _glide(*cents: float, seconds: float = 2.0, f0_hz: float = 440.0) -> Samples:
    """A tone through these pitches, evenly spaced in time."""
    time_s = np.arange(int(seconds * RATE)) / RATE
    path = np.interp(time_s, np.linspace(0, seconds, len(cents)), cents)
    turns = np.cumsum(f0_hz * 2 ** (path / 1200)) / RATE
    tone = sum(np.sin(2 * np.pi * k * turns) / k for k in (1, 3, 5))
    ends = np.clip(np.minimum(time_s, seconds - time_s) / 0.03, 0, 1)
    noise = np.random.default_rng(5).standard_normal(len(time_s))
    return np.asarray(0.1 * tone * ends + 1e-4 * noise)


def _white(seed: int) -> Samples:
    return 0.1 * make_noise(2 * RATE, np.random.default_rng(seed))


def _pink(seed: int) -> Samples:
    return 0.1 * make_noise(2 * RATE, np.random.default_rng(seed), is_pink=True)


def _band(seed: int) -> Samples:
    bins = np.fft.rfft(_white(seed))
    freq_hz = np.fft.rfftfreq(2 * RATE, 1 / RATE)
    return np.asarray(np.fft.irfft(bins * ((freq_hz > 400) & (freq_hz < 700))))


@pytest.mark.parametrize(
    ("samples", "expected"),
    [
        (np.zeros(RATE), Verdict.SILENCE),
        (np.full(RATE, 0.5), Verdict.SILENCE),  # an offset without sound
        (np.round(np.random.default_rng(1).normal(0, 0.6, RATE)) / 2**15, Verdict.SILENCE),
        (Tone(440.0, rms=10 ** (-85 / 20)).render(), Verdict.SILENCE),
        (Tone(440.0, rms=10 ** (-70 / 20)).render(), Verdict.OK),
        (_glide(0, 0, seconds=0.15), Verdict.TOO_SHORT),
        (np.sin(0.06 * np.arange(RATE // 10)), Verdict.TOO_SHORT),
        (
            np.concatenate([np.zeros(RATE), _glide(0, 0, seconds=0.16), np.zeros(RATE)]),
            Verdict.TOO_SHORT,
        ),
        (np.concatenate([np.zeros(RATE), _glide(0, 0, seconds=0.22), np.zeros(RATE)]), Verdict.OK),
        (np.concatenate([np.zeros(RATE), _glide(0, 0, seconds=0.4), np.zeros(RATE)]), Verdict.OK),
        (_glide(0, 300), Verdict.BEND_OR_GLISSANDO),
        (_glide(0, 1200), Verdict.BEND_OR_GLISSANDO),
        (_glide(0, 80), Verdict.OK),
    ],
)
def test_takes_get_the_verdict_they_deserve(samples: Samples, expected: Verdict) -> None:
    assert measure_take(samples, RATE).verdict is expected


@pytest.mark.parametrize(("make", "seed"), each_daily([_white, _pink, _band], range(4)))
def test_noise_of_any_colour_is_noise(make: Callable[[int], Samples], seed: int) -> None:
    assert measure_take(make(seed), RATE).verdict is Verdict.NOISE


@pytest.mark.parametrize("seed", range(4))
def test_a_tone_in_strong_noise_is_no_noise(seed: int) -> None:
    assert measure_take(Tone(440.0, snr_db=3.0, seed=seed).render(), RATE).verdict is Verdict.OK


@pytest.mark.parametrize(("voice_hz", "seed"), each_daily([100.0, 200.0], range(10)))
def test_talk_is_named(seed: int, voice_hz: float) -> None:
    assert measure_take(speak(seed, voice_hz=voice_hz), RATE).verdict is Verdict.SPEECH


def _breathe(seed: int) -> Samples:
    """A take that starts with half a second of breath."""
    breath = 0.02 * make_noise(RATE // 2, np.random.default_rng(seed), is_pink=True)
    return np.concatenate([breath, _glide(0, 0)])


@pytest.mark.parametrize(
    "clip",
    [
        _breathe(1),
        np.concatenate([speak(1, seconds=0.6), _glide(0, 0)]),  # "ready?" and then a note
        Tone(220.0, 2.0, vibrato_cents=40.0).render(),
        np.concatenate([_glide(0, 0, seconds=0.6), np.zeros(RATE // 4)] * 4),  # tries
    ],
)
def test_a_note_with_something_before_it_is_no_talk(clip: Samples) -> None:
    assert measure_take(clip, RATE).verdict is Verdict.OK


@pytest.mark.parametrize(
    ("level_db", "verdict"),
    [(-65, Verdict.TOO_QUIET), (-40, Verdict.NOISE), (-90, Verdict.SILENCE)],
)
def test_a_quiet_room_alone_is_too_quiet(level_db: float, verdict: Verdict) -> None:
    assert measure_take(10 ** (level_db / 20) * 10 * _white(1), RATE).verdict is verdict


@pytest.mark.parametrize(
    ("samples", "rate_hz"),
    [
        (np.zeros(0), RATE),
        (np.zeros((100, 2)), RATE),  # channels belong apart
        (np.array([0.0, np.nan] * RATE), RATE),
        (np.array([0.0, np.inf] * RATE), RATE),
        (np.full(RATE, 1e30), RATE),
        (np.zeros(RATE), 7_999),
        (np.zeros(RATE), 192_001),
        (np.zeros(RATE), float("nan")),
        (np.zeros(RATE), -RATE),
        (np.zeros(RATE, dtype=np.int16), RATE),  # no full scale is known
    ],
)
def test_what_is_no_mono_sound_is_unreadable(samples: Samples, rate_hz: float) -> None:
    assert measure_take(samples, rate_hz).verdict is Verdict.UNREADABLE


@pytest.mark.parametrize(
    "samples", [np.zeros(RATE), _white(1), _glide(0, 0, seconds=0.15), _glide(0, 400), speak(1)]
)
def test_a_take_that_is_not_ok_carries_no_numbers_of_a_tone(samples: Samples) -> None:
    take = measure_take(samples, RATE)
    assert not take.is_usable
    assert take.f0_hz is None and take.f0_uncertainty_cents is None
    assert take.spread_cents is None and take.centroid_hz is None
    assert take.trace.f0_hz == () and take.spectrum.partials == ()


def test_a_tone_too_short_says_where_it_was() -> None:
    clip = np.concatenate([np.zeros(RATE), _glide(0, 0, seconds=0.15), np.zeros(RATE)])
    take = measure_take(clip, RATE)
    assert take.steady_from_s == pytest.approx(1.0, abs=0.03)
    assert take.steady_to_s == pytest.approx(1.15, abs=0.03)


@pytest.mark.parametrize(("seconds", "is_short"), [(0.22, True), (0.28, True), (0.4, False)])
def test_a_short_note_is_measured_and_says_so(seconds: float, is_short: bool) -> None:
    take = measure_take(
        np.concatenate([np.zeros(RATE), _glide(0, 0, seconds=seconds), np.zeros(RATE)]), RATE
    )
    assert take.is_usable and (TakeWarning.SHORT in take.warnings) is is_short
    assert take.f0_hz == pytest.approx(440.0, rel=5e-4)


STILL = Tone(440.0).render()
FULL = STILL / np.abs(STILL).max()
SINE = np.sin(2 * np.pi * 101.3 * np.arange(RATE) / RATE)


@pytest.mark.parametrize(
    ("samples", "is_clipped"),
    [
        (np.clip(1.02 * FULL, -1, 1), True),
        (np.clip(1.5 * FULL, -1, 1), True),
        (0.4 * np.clip(1.5 * FULL, -1, 1), True),  # turned down after clipping
        (np.clip(1.2 * SINE, -1, 1), True),
        (np.minimum(1.2 * SINE, 1.0), True),  # one side only
        (np.round(127 * np.clip(1.3 * SINE, -1, 1)) / 128, True),
        (FULL, False),
        (SINE, False),
        (np.round(127 * SINE) / 128, False),  # 8 bits
        (np.round(12 * SINE) / 128, False),  # 8 bits, quiet
        (np.round(32_767 * FULL) / 32_768, False),
    ],
)
def test_clipping_is_seen_and_a_full_level_is_not_clipping(
    samples: Samples, is_clipped: bool
) -> None:
    take = measure_take(samples, RATE)
    assert (TakeWarning.CLIPPED in take.warnings) is is_clipped
    assert take.is_usable


@pytest.mark.parametrize(("level_db", "is_quiet"), [(-20, False), (-50, False), (-58, True)])
def test_a_very_quiet_take_is_flagged(level_db: float, is_quiet: bool) -> None:
    take = measure_take(Tone(440.0, rms=10 ** (level_db / 20)).render(), RATE)
    assert (TakeWarning.TOO_QUIET in take.warnings) is is_quiet


@pytest.mark.parametrize("cents", [60, 100, 700, 1200, 1902, -1200])
def test_two_notes_are_flagged_and_the_longer_is_measured(cents: float) -> None:
    clip = np.concatenate([_glide(0, 0, seconds=1.0), _glide(cents, cents, seconds=0.7)])
    take = measure_take(clip, RATE)
    assert TakeWarning.TWO_NOTES in take.warnings
    assert take.f0_hz == pytest.approx(440.0, rel=5e-4)


@pytest.mark.parametrize(
    "clip",
    [
        _glide(0, 0),
        np.concatenate([_glide(0, 0), np.zeros(RATE // 2), _glide(0, 0, seconds=1.0)]),  # again
        np.concatenate([_glide(0, 0), 0.02 * _glide(500, 500)]),  # a neighbour in the next room
        np.concatenate([_glide(-700, -700, seconds=0.15), _glide(0, 0)]),  # a slip at the start
        reverberate(np.concatenate([_glide(0, 0), np.zeros(2 * RATE)])),  # the tail of a room
        Tone(440.0, 2.0, vibrato_cents=40.0).render(),
    ],
)
def test_one_note_is_not_two(clip: Samples) -> None:
    assert TakeWarning.TWO_NOTES not in measure_take(clip, RATE).warnings


@pytest.mark.parametrize(
    ("clip", "is_bent"),
    [
        (_glide(0, 60), True),
        (_glide(0, 0, 45, 0, 0), True),
        (_glide(0, 20), False),
        (Tone(440.0, 2.0, vibrato_cents=40.0).render(), False),
        (Tone(440.0, 2.0, wander_cents=3.0).render(), False),
        (Tone(440.0, 2.0, scoop_cents=80.0).render(), False),
    ],
)
def test_a_bend_is_flagged_and_vibrato_is_not(clip: Samples, is_bent: bool) -> None:
    take = measure_take(clip, RATE)
    assert take.is_usable
    assert (TakeWarning.BENT in take.warnings) is is_bent


@pytest.mark.parametrize(
    ("expected_hz", "warning"),
    [
        (440.0, None),
        (440.0 * 2 ** (33 / 1200), None),
        (440.0 * 2 ** (50 / 1200), TakeWarning.NEARER_TO_ANOTHER),
        (440.0 * 2 ** (-85 / 1200), TakeWarning.NEARER_TO_ANOTHER),
        (440.0 * 2 ** (95 / 1200), TakeWarning.OTHER_NOTE),
        (440.0 * 2 ** (-700 / 1200), TakeWarning.OTHER_NOTE),
        (220.0, TakeWarning.OTHER_REGISTER),
        (440.0 / 3, TakeWarning.OTHER_REGISTER),
        (1320.0, TakeWarning.OTHER_REGISTER),
    ],
)
def test_another_note_or_register_than_expected_is_flagged(
    expected_hz: float, warning: TakeWarning | None
) -> None:
    warnings = measure_take(STILL, RATE, expected_f0_hz=expected_hz).warnings
    assert warnings == (() if warning is None else (warning,))


def test_hum_alone_is_flagged() -> None:
    time_s = np.arange(2 * RATE) / RATE
    hum = sum(0.02 * np.sin(2 * np.pi * 50 * n * time_s) / n for n in (1, 2, 3, 5))
    assert measure_take(np.asarray(hum), RATE).warnings == (TakeWarning.MAINS_HUM,)


def test_a_player_on_a_mains_frequency_is_no_hum() -> None:
    tone = replace(Tone(60.0, 2.0), wander_cents=0.8)
    assert TakeWarning.MAINS_HUM not in measure_take(tone.render(), RATE).warnings


@pytest.mark.parametrize(
    ("reference", "is_missing"),
    [
        (None, True),
        (TakeMeasurement(Verdict.NOISE, 1.0), True),
        (TakeMeasurement(Verdict.OK, 1.0, f0_hz=441.0), False),
    ],
)
def test_a_session_without_a_usable_tuning_note_is_flagged(
    reference: TakeMeasurement | None, is_missing: bool
) -> None:
    warnings = find_reference_warnings(reference)
    assert warnings == ((TakeWarning.NO_TUNING_REFERENCE,) if is_missing else ())
