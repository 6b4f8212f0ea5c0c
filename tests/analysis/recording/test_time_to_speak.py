"""Time to speak against onsets whose rise from 10% to 90% is known in closed form."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.recording.time_to_speak import find_time_to_speak_s

Samples = NDArray[np.float64]
RATE_HZ = 44_100
ONSET_S = 0.5
LENGTH_S = 2.5


def _line(at: Samples) -> Samples:
    return np.clip(at, 0, 1)


def _wave(at: Samples) -> Samples:
    return np.sin(np.pi / 2 * np.clip(at, 0, 1)) ** 2


def _charge(at: Samples) -> Samples:
    return np.where(at > 0, 1 - np.exp(-np.maximum(at, 0)), 0.0)


# Rise from 10% to 90% in units of the rise's own time, solved by hand: a line t, a half wave
# sin^2(pi t / 2), a charge 1 - exp(-t).
RISES: list[tuple[Callable[[Samples], Samples], float]] = [
    (_line, 0.8),
    (_wave, (math.asin(math.sqrt(0.9)) - math.asin(math.sqrt(0.1))) * 2 / math.pi),
    (_charge, math.log(9)),
]


def _play(
    envelope: Callable[[Samples], Samples],
    rise_s: float,
    f0_hz: float = 440.0,
    noise: float = 0.0,
    rate_hz: int = RATE_HZ,
) -> Samples:
    time_s = np.arange(round(LENGTH_S * rate_hz)) / rate_hz
    tone = sum(np.sin(2 * np.pi * k * f0_hz * time_s) / k**2 for k in (1, 3, 5))
    tone = tone * envelope((time_s - ONSET_S) / rise_s)
    rms = np.sqrt(np.mean(tone[-rate_hz // 2 :] ** 2))
    rng = np.random.default_rng(5)
    return np.asarray(0.1 * (tone / rms + noise * rng.standard_normal(len(tone))))


def _measure(
    samples: Samples,
    f0_hz: float = 440.0,
    *,
    cut_s: float = 0.0,
    rise_s: float = 0.1,
    rate_hz: int = RATE_HZ,
) -> float | None:
    """Measure samples without their first `cut_s`."""
    return find_time_to_speak_s(
        samples[round(cut_s * rate_hz) :],
        rate_hz,
        f0_hz=f0_hz,
        steady_from_s=ONSET_S + min(rise_s, 0.6) + 0.06 - cut_s,
        steady_to_s=LENGTH_S - 0.1 - cut_s,
    )


@pytest.mark.parametrize(("envelope", "share"), RISES, ids=["line", "wave", "charge"])
@pytest.mark.parametrize("rise_s", [0.03, 0.1, 0.15])
def test_the_rise_from_a_tenth_to_nine_tenths_is_found(
    envelope: Callable[[Samples], Samples], share: float, rise_s: float
) -> None:
    found = _measure(_play(envelope, rise_s), rise_s=rise_s)
    assert found == pytest.approx(share * rise_s, abs=0.002, rel=0.03)


@pytest.mark.parametrize("attack_s", [0.04, 0.1, 0.2])
def test_the_log_attack_time_of_a_straight_rise_follows(attack_s: float) -> None:
    # MPEG-7's log attack time (ISO/IEC 15938-4, from memory): log10 of the time from the start to
    # the height, which a rise from 10% to 90% is 8/10 of
    found = _measure(_play(_line, attack_s), rise_s=attack_s)
    assert found is not None
    assert math.log10(found / 0.8) == pytest.approx(math.log10(attack_s), abs=0.03)


@pytest.mark.parametrize("rate_hz", [8_000, 48_000, 192_000])
def test_the_sample_rate_does_not_matter(rate_hz: int) -> None:
    found = _measure(_play(_line, 0.1, rate_hz=rate_hz), rate_hz=rate_hz)
    assert found == pytest.approx(0.08, abs=0.002)


@pytest.mark.parametrize(("f0_hz", "blur_s"), [(58.3, 0.018), (146.8, 0.007), (1244.5, 0.006)])
def test_an_onset_at_once_takes_no_longer_than_the_blur_of_a_window(
    f0_hz: float, blur_s: float
) -> None:
    found = _measure(_play(_line, 1e-6, f0_hz), f0_hz)
    assert found is not None and 0 <= found < blur_s


@pytest.mark.parametrize("f0_hz", [58.3, 146.8, 1864.7])
def test_the_pitch_does_not_matter(f0_hz: float) -> None:
    assert _measure(_play(_line, 0.1, f0_hz), f0_hz) == pytest.approx(0.08, abs=0.003)


@pytest.mark.parametrize("gain", [1e-3, 10**-2, 10**-1.5, 10**-1, 10**-0.5, 1e3])
def test_level_does_not_matter(gain: float) -> None:
    samples = _play(_line, 0.1, noise=1e-3)
    assert _measure(gain * samples) == pytest.approx(_measure(samples), rel=1e-9)


def test_noise_well_under_the_tone_changes_little() -> None:
    assert _measure(_play(_line, 0.1, noise=0.04)) == pytest.approx(0.08, abs=0.006)


def test_noise_that_hides_the_onset_cannot_tell() -> None:
    assert _measure(_play(_line, 0.1, noise=0.085)) is None
    assert _measure(_play(_line, 0.1, noise=0.3)) is None


def test_a_clip_that_starts_within_the_note_cannot_tell() -> None:
    samples = _play(_line, 0.1)
    assert _measure(samples, cut_s=ONSET_S + 0.02) is None
    assert _measure(samples, cut_s=ONSET_S - 0.005) is None


def test_a_clip_that_starts_just_before_the_note_can_tell() -> None:
    assert _measure(_play(_line, 0.1), cut_s=ONSET_S - 0.03) == pytest.approx(0.08, abs=0.002)


def test_a_note_that_grows_all_along_has_no_time_to_speak() -> None:
    assert _measure(_play(_line, 1.9), rise_s=0.1) is None


def test_a_note_before_it_does_not_count() -> None:
    samples = _play(_line, 0.1)
    earlier = slice(0, round(0.3 * RATE_HZ))
    samples[earlier] += samples[-round(0.3 * RATE_HZ) :]
    assert _measure(samples) == pytest.approx(0.08, abs=0.002)


def test_silence_has_no_time_to_speak() -> None:
    assert _measure(np.zeros(round(LENGTH_S * RATE_HZ))) is None
