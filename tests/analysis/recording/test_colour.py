"""Colour from its formulas: sum k A_k / sum A_k; powers of odd over even partials; noise put in."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.recording import TakeMeasurement, measure_take
from analysis.recording.colour import find_brightness, find_odd_even_db
from tests.analysis.recording.tones import Tone

AMPLITUDES = st.lists(st.floats(1e-6, 1e3), min_size=1, max_size=40).map(np.array)


def test_one_partial_has_its_number_for_brightness() -> None:
    assert find_brightness(np.array([0.0, 0.0, 0.5])) == 3.0


def test_a_sawtooth_is_as_bright_as_its_sum_says() -> None:
    # A_k = 1 / k: n / H_n, H_10 = 7381 / 2520
    assert find_brightness(1 / np.arange(1, 11)) == pytest.approx(10 * 2520 / 7381)


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


def _noise_heard_db(tone: Tone) -> float:
    """White noise of the tone's SNR, cut to the band from f0 to half a partial above the last."""
    partials = int(8000 / (1.03 * tone.f0_hz))
    share = partials * tone.f0_hz / (tone.sample_rate_hz / 2)
    return float(-tone.snr_db + 10 * np.log10(share))


@pytest.mark.parametrize("f0_hz", [58.3, 97.0, 233.1, 440.0, 1244.5, 1864.7])
@pytest.mark.parametrize("snr_db", [50.0, 30.0, 15.0])
def test_the_noise_put_in_is_found_under_a_still_tone(f0_hz: float, snr_db: float) -> None:
    tone = Tone(f0_hz, 2.0, snr_db=snr_db)
    assert _measure(tone).breath_noise_db == pytest.approx(_noise_heard_db(tone), abs=1.0)


@pytest.mark.parametrize(
    ("f0_hz", "least_db"), [(58.3, -40.0), (146.8, -46.0), (440.0, -60.0), (1244.5, -75.0)]
)
def test_what_a_players_wander_leaks_between_the_partials_stays_under_its_limit(
    f0_hz: float, least_db: float
) -> None:
    played = Tone(f0_hz, 2.0, snr_db=100.0, wander_cents=0.8, amplitude_jitter=0.015)
    found = _measure(played).breath_noise_db
    assert found is not None and found < least_db


def test_a_click_is_no_breath() -> None:
    tone = Tone(440.0, 2.0, snr_db=50.0)
    samples = tone.render()
    samples[len(samples) // 2 : len(samples) // 2 + 20] += 0.3
    found = measure_take(samples, tone.sample_rate_hz).breath_noise_db
    assert found == pytest.approx(_noise_heard_db(tone), abs=1.5)


@pytest.mark.parametrize("f0_hz", [97.0, 440.0])
def test_60_db_of_level_change_no_colour_and_no_response(f0_hz: float) -> None:
    tone = Tone(f0_hz, snr_db=40.0, rms=0.01)
    samples = tone.render()
    soft, loud = (measure_take(gain * samples, tone.sample_rate_hz) for gain in (1.0, 1000.0))
    for aspect in ("brightness_partials", "odd_even_db", "breath_noise_db", "time_to_speak_s"):
        assert getattr(soft, aspect) is not None, aspect
        assert getattr(loud, aspect) == pytest.approx(getattr(soft, aspect), rel=1e-5), aspect


def test_a_take_without_a_pitch_has_no_colour() -> None:
    take = measure_take(np.zeros(44_100), 44_100)
    assert take.odd_even_db is take.breath_noise_db is take.time_to_speak_s is None
