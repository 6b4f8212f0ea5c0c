"""The demo's synthesiser: its pitch is what was asked for, proved without our measuring code."""

import io
import wave
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from webapp.notebook.demo.tone import (
    LEAD_S,
    SAMPLE_RATE_HZ,
    Tone,
    encode_wav,
    make_silence,
    synthesise,
)

TONE = Tone(f0_hz=220.0, held_s=1.6, cutoff_hz=1500.0, edge_hz=800.0, rms=0.08, seed=4)


def held_part(samples: NDArray[np.float64], held_s: float) -> NDArray[np.float64]:
    first, last = (round((LEAD_S + at) * SAMPLE_RATE_HZ) for at in (0.2, held_s - 0.2))
    return samples[first:last]


def median_pitch_hz(samples: NDArray[np.float64], near_hz: float) -> float:
    """Return the median slope of the phase of the fundamental, cut out of the spectrum.

    Source: the instantaneous frequency of the analytic signal (Gabor 1946), written out here.
    """
    spectrum = np.fft.fft(samples * np.hanning(len(samples)))
    freq_hz = np.fft.fftfreq(len(samples), 1 / SAMPLE_RATE_HZ)
    spectrum[np.abs(freq_hz - near_hz) > 0.4 * near_hz] = 0
    phase = np.unwrap(np.angle(np.fft.ifft(spectrum)))
    middle = slice(len(phase) // 20, -len(phase) // 20)
    return float(np.median(np.diff(phase)[middle]) * SAMPLE_RATE_HZ / (2 * np.pi))


def partial_levels_db(samples: NDArray[np.float64], f0_hz: float, count: int) -> list[float]:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    bin_hz = SAMPLE_RATE_HZ / len(samples)
    tops = []
    for number in range(1, count + 1):
        first, last = (int((number + side) * f0_hz / bin_hz) for side in (-0.2, 0.2))
        tops.append(20 * np.log10(spectrum[first:last].max()))
    return [top - tops[0] for top in tops]


@pytest.mark.parametrize("f0_hz", [98.0, 220.0, 523.25, 1100.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_the_median_pitch_is_the_one_asked_for(f0_hz: float, seed: int) -> None:
    tone = replace(TONE, f0_hz=f0_hz, seed=seed)
    measured_hz = median_pitch_hz(held_part(synthesise(tone), tone.held_s), f0_hz)
    assert 1200 * np.log2(measured_hz / f0_hz) == pytest.approx(0, abs=0.3)


def test_even_partials_are_weak_low_down_and_not_above_the_cutoff() -> None:
    levels = partial_levels_db(held_part(synthesise(TONE), TONE.held_s), TONE.f0_hz, 10)
    assert levels[1] < levels[2] - 10  # 440 Hz against 660 Hz, below the cutoff of 1500 Hz
    assert abs(levels[7] - levels[8]) < 5  # 1760 Hz against 1980 Hz, above it


def test_a_higher_edge_sounds_brighter() -> None:
    dull, bright = (
        partial_levels_db(held_part(synthesise(tone), tone.held_s), tone.f0_hz, 7)
        for tone in (TONE, replace(TONE, edge_hz=1600.0))
    )
    assert bright[6] > dull[6] + 5


def test_the_level_is_the_one_asked_for() -> None:
    rms = np.sqrt(np.mean(np.square(held_part(synthesise(TONE), TONE.held_s))))
    assert rms == pytest.approx(TONE.rms, rel=0.05)


def test_the_same_tone_gives_the_same_samples_and_another_seed_others() -> None:
    again, other = synthesise(TONE), synthesise(replace(TONE, seed=5))
    assert np.array_equal(synthesise(TONE), again)
    assert not np.array_equal(again, other)


def test_silence_stays_below_80_db() -> None:
    assert np.sqrt(np.mean(np.square(make_silence(1.0, seed=1)))) < 10 ** (-80 / 20)


def test_the_clip_is_a_wav_file_that_gives_the_samples_back() -> None:
    samples = synthesise(TONE)
    with wave.open(io.BytesIO(encode_wav(samples))) as clip:
        assert (clip.getnchannels(), clip.getsampwidth(), clip.getframerate()) == (1, 2, 44_100)
        read = np.frombuffer(clip.readframes(clip.getnframes()), dtype="<i2") / 32767
    assert np.abs(read - samples).max() <= 0.5 / 32767 + 1e-12
