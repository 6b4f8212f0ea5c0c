"""Real clarinet notes against estimators of other kinds and other hands, register by register.

Praat's autocorrelation method (Boersma, "Accurate short-term analysis of the fundamental
frequency", 1993), through praat-parselmouth. In the long run its forward cross-correlation and YIN
as well (de Cheveigné & Kawahara, J. Acoust. Soc. Am. 111, 2002), through librosa; it reads every
one of these notes 0.07 to 1.4 cents higher than ours and Praat's, as its first dip leans towards
the shorter period. Recordings: `tests/recordings.py` (CC-BY-3.0).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from parselmouth import Sound

from analysis.pitch import Register, SoundingPitch, Transposition, Tuning, register_of
from analysis.recording import TakeMeasurement, decode_clip, measure_take
from tests import recordings
from tests.tools import report_missing

pytestmark = pytest.mark.real_recordings


# of a B-flat clarinet: it sounds a whole tone lower than written (common practice)
B_FLAT = Transposition(-200)
YIN_FRAME, YIN_HOP = 4096, 882


REGISTERS = (Register.CHALUMEAU, Register.THROAT, Register.CLARION, Register.ALTISSIMO)


@dataclass(frozen=True)
class Note:
    """A recorded note, its measurement, and in which register it was played."""

    samples: NDArray[np.float64]
    rate_hz: float
    take: TakeMeasurement
    register: Register

    def steady_part(self) -> tuple[float, float]:
        """Where the part lies that was measured, in seconds."""
        assert self.take.steady_from_s is not None and self.take.steady_to_s is not None
        return self.take.steady_from_s, self.take.steady_to_s

    def cents_above(self, f0_hz: float) -> float:
        """How far ours lies above another one's figure, in cents."""
        assert self.take.f0_hz is not None
        return float(1200 * np.log2(self.take.f0_hz / f0_hz))


Notes = dict[str, Note]


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(True, id="one of each register"),
        pytest.param(False, id="every note", marks=pytest.mark.long_run),
    ],
)
def notes(request: pytest.FixtureRequest) -> Notes:
    found = recordings.find()
    if not found:
        report_missing("real recordings not fetched: run the test command")
    assert len(found) == recordings.NOTE_COUNT
    one_each = recordings.ONE_OF_EACH_REGISTER
    return {
        path.stem: _measure(path) for path in found if not request.param or path.stem in one_each
    }


def _measure(path: Path) -> Note:
    clip = decode_clip(path)
    take = measure_take(clip.samples, clip.sample_rate_hz)
    assert take.is_usable, f"{path.stem}: {take.verdict}"
    assert take.f0_hz is not None
    written = B_FLAT.to_written(SoundingPitch.from_hz(take.f0_hz, Tuning(440.0)))
    samples = clip.samples.astype(np.float64)
    return Note(samples, clip.sample_rate_hz, take, register_of(written))


@pytest.fixture(scope="module")
def from_praat(notes: Notes) -> dict[str, float]:
    return {name: _compare_with_praat(note, Sound.to_pitch_ac) for name, note in notes.items()}


@pytest.fixture(scope="module")
def from_cross_correlation(notes: Notes) -> dict[str, float]:
    return {name: _compare_with_praat(note, Sound.to_pitch_cc) for name, note in notes.items()}


@pytest.fixture(scope="module")
def from_yin(notes: Notes) -> dict[str, float]:
    return {name: _compare_with_yin(note) for name, note in notes.items()}


def _compare_with_praat(note: Note, estimate: Callable[..., Any]) -> float:
    pitch = estimate(
        Sound(note.samples, note.rate_hz),
        time_step=0.01, pitch_floor=60.0, pitch_ceiling=2000.0, very_accurate=True,
    )  # fmt: skip
    times_s, f0_hz = pitch.xs(), pitch.selected_array["frequency"]
    from_s, to_s = note.steady_part()
    inside = (times_s >= from_s) & (times_s <= to_s) & (f0_hz > 0)
    return note.cents_above(float(np.median(f0_hz[inside])))


def _compare_with_yin(note: Note) -> float:
    import librosa

    assert note.take.f0_hz is not None
    first, last = (round(at * note.rate_hz) for at in note.steady_part())
    f0_hz = librosa.yin(
        note.samples[first:last],
        fmin=note.take.f0_hz / 1.5,
        fmax=note.take.f0_hz * 1.5,
        sr=note.rate_hz,
        frame_length=YIN_FRAME,
        hop_length=YIN_HOP,
        center=False,
    )
    return note.cents_above(float(np.median(f0_hz)))


def test_every_note_is_usable_and_none_is_grossly_off(from_praat: dict[str, float]) -> None:
    assert len(from_praat) in (len(REGISTERS), recordings.NOTE_COUNT)
    assert {name: cents for name, cents in from_praat.items() if abs(cents) > 1.0} == {}


def find_worst(differences: dict[str, float], notes: Notes, register: Register) -> float:
    """The largest difference in cents among the notes of a register, of which there is one."""
    here = [name for name, note in notes.items() if note.register is register]
    assert here
    return max(abs(differences[name]) for name in here)


# The notes reach every register; measured: within 0.1 cent of both of Praat's, 1.4 of YIN.
@pytest.mark.parametrize("register", REGISTERS)
def test_praats_autocorrelation_agrees_in_every_register(
    notes: Notes, from_praat: dict[str, float], register: Register
) -> None:
    assert find_worst(from_praat, notes, register) < 0.15


def test_the_median_difference_from_praat_is_under_a_tenth_of_a_cent(
    from_praat: dict[str, float],
) -> None:
    assert np.median([abs(each) for each in from_praat.values()]) < 0.1


@pytest.mark.long_run
@pytest.mark.parametrize("register", REGISTERS)
def test_praats_cross_correlation_agrees_in_every_register(
    notes: Notes, from_cross_correlation: dict[str, float], register: Register
) -> None:
    assert find_worst(from_cross_correlation, notes, register) < 0.15


@pytest.mark.long_run
def test_the_median_difference_from_cross_correlation_is_under_a_tenth_of_a_cent(
    from_cross_correlation: dict[str, float],
) -> None:
    assert np.median([abs(each) for each in from_cross_correlation.values()]) < 0.1


@pytest.mark.long_run
@pytest.mark.parametrize("register", REGISTERS)
def test_yin_agrees_in_every_register(
    notes: Notes, from_yin: dict[str, float], register: Register
) -> None:
    assert find_worst(from_yin, notes, register) < 1.6


@pytest.mark.long_run
def test_the_median_difference_from_yin_is_under_a_cent(from_yin: dict[str, float]) -> None:
    assert np.median([abs(each) for each in from_yin.values()]) < 1.0
