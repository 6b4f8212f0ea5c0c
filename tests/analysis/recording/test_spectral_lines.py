"""Lines of spectra known by formula, several spectra at a time."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.spectral_lines import MAX_LINES, Lines, drop_hum, estimate_floor, find_lines

BIN_HZ = 5.0


def _make_spectrum(*lines: tuple[float, float]) -> np.ndarray:
    """A floor of 1 with bells of given frequency and power on it; in logs a bell is a parabola."""
    freq_hz = np.arange(800) * BIN_HZ
    power = np.ones(800)
    for at_hz, height in lines:
        power = np.maximum(power, height * np.exp(-(((freq_hz - at_hz) / BIN_HZ) ** 2)))
    return power


def _find(*spectra: np.ndarray) -> Lines:
    power = np.stack(spectra)
    return find_lines(power, estimate_floor(power, BIN_HZ), BIN_HZ)


def test_each_spectrum_has_its_own_lines_strongest_first() -> None:
    lines = _find(_make_spectrum((441.0, 1e4), (882.3, 1e5)), _make_spectrum((1203.7, 1e6)))
    assert lines.freq_hz[0] == pytest.approx([882.3, 441.0])
    assert lines.freq_hz[1, 0] == pytest.approx(1203.7)
    assert lines.exist.tolist() == [[True, True], [True, False]]


def test_what_is_35_db_under_the_strongest_or_hardly_over_the_floor_is_no_line() -> None:
    lines = _find(_make_spectrum((441.0, 1e6), (882.3, 200.0)), _make_spectrum((441.0, 15.0)))
    assert lines.exist.sum(axis=1).tolist() == [1, 0]


def test_of_many_lines_the_strongest_are_kept() -> None:
    many = [(100.0 + 75.0 * at, 1e4 + 100.0 * at) for at in range(40)]
    lines = _find(_make_spectrum(*many))
    assert lines.freq_hz.shape == (1, MAX_LINES)
    assert lines.freq_hz.min() == pytest.approx(100.0 + 75.0 * (40 - MAX_LINES))


@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_a_weak_series_of_the_mains_is_dropped_and_a_single_line_of_it_is_not(
    mains_hz: float,
) -> None:
    note = (441.0, 1e6)
    hum = [(mains_hz * order, 1e5) for order in (1, 2, 3)]
    lines = drop_hum(_find(_make_spectrum(note, *hum), _make_spectrum(note, hum[0])))
    assert lines.exist.sum(axis=1).tolist() == [1, 2]
    assert lines.freq_hz[0, 0] == pytest.approx(441.0)


def test_a_note_that_is_itself_a_multiple_of_the_mains_keeps_its_partials() -> None:
    lines = drop_hum(_find(_make_spectrum((100.0, 1e6), (200.0, 1e5), (300.0, 1e5))))
    assert lines.exist.sum() == 3


def test_of_lines_left_out_the_strongest_left_comes_first() -> None:
    lines = _find(_make_spectrum((441.0, 1e4), (882.3, 1e5), (1203.7, 1e3)))
    left = lines.only(lines.freq_hz < 800.0)
    assert left.freq_hz[0, 0] == pytest.approx(441.0)
    assert left.exist.tolist() == [[True, False, False]]
