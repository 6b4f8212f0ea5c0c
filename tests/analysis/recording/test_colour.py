"""Colour from its formulas: sum k A_k / sum A_k; powers of odd over even partials; noise put in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import parselmouth
import pytest
from hypothesis import given
from hypothesis import strategies as st
from parselmouth import praat

from analysis.recording import TakeMeasurement, measure_take
from analysis.recording.colour import find_brightness, find_odd_even_db
from tests.analysis.recording.tones import Tone, make_noise
from tests.thinning import each_daily

AMPLITUDES = st.lists(st.floats(1e-6, 1e3), min_size=1, max_size=40).map(np.array)


def test_one_partial_has_its_number_for_brightness() -> None:
    assert find_brightness(np.array([0.0, 0.0, 0.5])) == 3.0


def test_a_sawtooth_is_as_bright_as_its_sum_says() -> None:
    # A_k = 1 / k: n / H_n, H_10 = 7381 / 2520
    assert find_brightness(1 / np.arange(1, 11)) == pytest.approx(10 * 2520 / 7381)


@pytest.mark.parametrize("ratio", [0.1, 0.5, 0.8])
def test_a_geometric_series_is_as_bright_as_its_sum_says(ratio: float) -> None:
    # sum k r^k / sum r^k = 1 / (1 - r), from the geometric series and its derivative
    assert find_brightness(ratio ** np.arange(1, 400)) == pytest.approx(1 / (1 - ratio))


def test_a_square_wave_has_no_even_partials_and_the_brightness_of_its_sum() -> None:
    # A_k = 1 / k for odd k (Fourier): to k = 9, 5 / (1 + 1/3 + 1/5 + 1/7 + 1/9) = 5 * 315 / 563
    amplitudes = np.where(np.arange(1, 10) % 2, 1 / np.arange(1, 10), 0.0)
    assert find_brightness(amplitudes) == pytest.approx(5 * 315 / 563)
    assert find_odd_even_db(amplitudes) is None


def test_no_partial_has_no_brightness() -> None:
    assert find_brightness(np.zeros(5)) is None


@given(AMPLITUDES, st.floats(1e-3, 1e3))
def test_brightness_does_not_depend_on_level(amplitudes: np.ndarray, gain: float) -> None:
    expected = find_brightness(amplitudes)
    assert find_brightness(gain * amplitudes) == pytest.approx(expected)


@given(AMPLITUDES)
def test_brightness_lies_among_the_partials(amplitudes: np.ndarray) -> None:
    brightness = find_brightness(amplitudes)
    assert brightness is not None
    assert 1 - 1e-9 <= brightness <= len(amplitudes) + 1e-9


def test_a_long_sawtooth_has_three_times_as_much_in_its_odd_partials() -> None:
    # sum of 1 / k^2 over odd k is pi^2 / 8, over even k pi^2 / 24 (Euler): 10 log10 3 = 4.771 dB
    assert find_odd_even_db(1 / np.arange(1, 100_001)) == pytest.approx(4.771, abs=0.001)


def test_equal_partials_are_balanced_and_swapping_odd_for_even_changes_the_sign() -> None:
    assert find_odd_even_db(np.ones(8)) == 0.0
    assert find_odd_even_db(np.array([0.1, 1.0])) == pytest.approx(-20.0)


@pytest.mark.parametrize("amplitudes", [[1.0], [1.0, 0.0, 0.5, 0.0], [0.0, 1.0], []])
def test_a_kind_of_partial_that_is_not_heard_leaves_the_balance_untold(
    amplitudes: list[float],
) -> None:
    assert find_odd_even_db(np.array(amplitudes)) is None


@given(AMPLITUDES, st.floats(1e-3, 1e3))
def test_the_balance_does_not_depend_on_level(amplitudes: np.ndarray, gain: float) -> None:
    expected = find_odd_even_db(amplitudes)
    assert find_odd_even_db(gain * amplitudes) == pytest.approx(expected, abs=1e-9)


def _measure(tone: Tone) -> TakeMeasurement:
    take = measure_take(tone.render(), tone.sample_rate_hz)
    assert take.is_usable, take.verdict
    return take


@pytest.mark.parametrize("f0_hz", [58.3, 146.8, 440.0, 1244.5])
def test_the_balance_put_in_is_found(f0_hz: float) -> None:
    tone = Tone(f0_hz, even_db=-14.0)
    powers = 10 ** (tone.partial_levels_db()[: int(8000 / (1.03 * f0_hz))] / 10)
    expected = 10 * np.log10(powers[::2].sum() / powers[1::2].sum())
    assert _measure(tone).odd_even_db == pytest.approx(expected, abs=0.2)


def _breathe(tone: Tone, *, room_db: float = -80.0) -> np.ndarray:
    """The tone with its white noise only while it sounds, as breath is, in a room of its own."""
    still = replace(tone, snr_db=-room_db).render()
    breath = make_noise(len(still), np.random.default_rng([tone.seed, 3]))
    time_s = np.arange(len(still)) / tone.sample_rate_hz
    is_on = (time_s > tone.silence_s) & (time_s < tone.silence_s + tone.duration_s)
    return np.asarray(still + np.where(is_on, breath, 0.0) * tone.rms * 10 ** (-tone.snr_db / 20))


def _noise_heard_db(tone: Tone) -> float:
    """White noise of the tone's SNR, cut to the band from f0 to half a partial above the last."""
    partials = int(8000 / (1.03 * tone.f0_hz))
    share = partials * tone.f0_hz / (tone.sample_rate_hz / 2)
    return float(-tone.snr_db + 10 * np.log10(share))


@pytest.mark.parametrize(
    ("f0_hz", "snr_db"),
    each_daily([58.3, 97.0, 233.1, 440.0, 1244.5, 1864.7], [50.0, 30.0, 15.0]),
)
def test_the_noise_put_in_is_found_under_a_still_tone(f0_hz: float, snr_db: float) -> None:
    tone = Tone(f0_hz, 2.0, snr_db=snr_db)
    take = measure_take(_breathe(tone), tone.sample_rate_hz)
    assert take.breath_noise_db == pytest.approx(_noise_heard_db(tone), abs=1.0)


@pytest.mark.parametrize(
    ("room_db", "silence_s", "is_told"),
    [(-50.0, 0.3, True), (-42.0, 0.3, False), (-20.0, 0.3, False), (-80.0, 0.0, False)],
    ids=["a quiet room", "one nearly as loud as the breath", "a louder one", "no silence to tell"],
)
def test_breath_noise_is_told_only_where_the_room_is_quieter(
    room_db: float, silence_s: float, is_told: bool
) -> None:
    tone = Tone(330.0, 1.5, snr_db=40.0, silence_s=silence_s)
    take = measure_take(_breathe(tone, room_db=room_db), tone.sample_rate_hz)
    assert take.is_usable and (take.breath_noise_db is not None) is is_told


def test_silence_that_was_cut_to_nothing_tells_nothing_of_the_room() -> None:
    samples = _breathe(Tone(330.0, 1.5, snr_db=40.0))
    samples[: int(0.09 * 44_100)] = samples[-int(0.09 * 44_100) :] = 0.0
    assert measure_take(samples, 44_100).breath_noise_db is None


@pytest.mark.parametrize(
    ("f0_hz", "least_db"), [(58.3, -40.0), (146.8, -46.0), (440.0, -60.0), (1244.5, -75.0)]
)
def test_what_a_players_wander_leaks_between_the_partials_stays_under_its_limit(
    f0_hz: float, least_db: float
) -> None:
    played = Tone(f0_hz, 2.0, snr_db=100.0, wander_cents=0.8, amplitude_jitter=0.015)
    found = measure_take(_breathe(played, room_db=-110.0), played.sample_rate_hz).breath_noise_db
    assert found is not None and found < least_db


def test_a_click_is_no_breath() -> None:
    tone = Tone(440.0, 2.0, snr_db=50.0)
    samples = _breathe(tone)
    samples[len(samples) // 2 : len(samples) // 2 + 20] += 0.3
    found = measure_take(samples, tone.sample_rate_hz).breath_noise_db
    assert found == pytest.approx(_noise_heard_db(tone), abs=1.5)


@pytest.mark.parametrize("f0_hz", [97.0, 440.0])
def test_60_db_of_level_change_no_colour_and_no_response(f0_hz: float) -> None:
    tone = Tone(f0_hz, snr_db=40.0, rms=0.01)
    samples = _breathe(tone)
    soft, loud = (measure_take(gain * samples, tone.sample_rate_hz) for gain in (1.0, 1000.0))
    for aspect in ("brightness_partials", "odd_even_db", "breath_noise_db", "time_to_speak_s"):
        assert getattr(soft, aspect) is not None, aspect
        assert getattr(loud, aspect) == pytest.approx(getattr(soft, aspect), rel=1e-5), aspect


@pytest.mark.parametrize("f0_hz", [110.25, 441.0, 1102.5])
def test_the_centroid_is_that_of_another_program(f0_hz: float) -> None:
    # Praat's centre of gravity, each bin weighted by its magnitude; the steady part holds whole
    # periods of these notes, so that each partial is one bin
    tone = Tone(f0_hz, 2.0, snr_db=120.0, even_db=-15.0)
    samples = tone.render()
    steady = parselmouth.Sound(samples[20_000:80_000], tone.sample_rate_hz)
    spectrum = steady.to_spectrum(fast=False)
    praat.call(spectrum, "Formula", f"if x > {8000 / 1.03 + 11.025} then 0 else self fi")
    expected = spectrum.get_center_of_gravity(power=1.0)
    take = measure_take(samples, tone.sample_rate_hz)
    assert take.centroid_hz == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize("peak_db", [-40.0, -30.0, -20.0, -10.0, 0.0])
def test_the_peak_level_from_minus_40_db_to_0_changes_nothing(peak_db: float) -> None:
    tone = Tone(233.1, snr_db=40.0)
    samples = _breathe(tone)
    samples /= np.abs(samples).max()
    soft, loud = (measure_take(10 ** (db / 20) * samples, 44_100) for db in (peak_db, -6.0))
    for aspect in ("brightness_partials", "odd_even_db", "breath_noise_db", "time_to_speak_s"):
        assert getattr(loud, aspect) is not None, aspect
        assert getattr(soft, aspect) == pytest.approx(getattr(loud, aspect), rel=1e-5), aspect


def test_breath_noise_is_the_ratio_of_the_powers_put_in_by_parseval() -> None:
    # all of the band from f0 up counts, so noise cut to that band has the tone's own power
    tone = Tone(440.0, 3.0, snr_db=100.0)
    samples = tone.render()
    bins = np.fft.rfft(np.random.default_rng(8).standard_normal(len(samples)))
    freq_hz = np.fft.rfftfreq(len(samples), 1 / 44_100)
    partials = int(8000 / (1.03 * 440.0))
    bins[(freq_hz < 440.0) | (freq_hz > 440.0 * (partials + 1))] = 0.0
    noise = np.fft.irfft(bins, len(samples))
    noise[: int(0.1 * 44_100)] = noise[-int(0.1 * 44_100) :] = 0.0
    for ratio_db in (-20.0, -10.0):
        level = tone.rms * 10 ** (ratio_db / 20) / np.sqrt(np.mean(noise**2))
        take = measure_take(samples + level * noise, 44_100)
        assert take.breath_noise_db == pytest.approx(ratio_db, abs=0.7)


def test_a_take_without_a_pitch_has_no_colour() -> None:
    take = measure_take(np.zeros(44_100), 44_100)
    assert take.odd_even_db is take.breath_noise_db is take.time_to_speak_s is None
