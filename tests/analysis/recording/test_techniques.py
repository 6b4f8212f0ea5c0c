"""Playing techniques, words and close pairs, drawn from `kinds`: each is named as what it is.

The daily run takes the first few of the seeds that the long run takes.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.recording import TakeMeasurement, TakeWarning, Verdict, measure_take
from analysis.recording.amplitude_modulation import find_flutter_rate
from tests.analysis.recording.kinds import KINDS
from tests.analysis.recording.sound_parts import Sound, fade
from tests.analysis.recording.sounds import RATE, Played, play, reverberate
from tests.analysis.recording.tones import Tone, make_noise

Samples = NDArray[np.float64]
SEED = 77
DAILY = 3
# 40 draws of 0.97 hold fewer than 36 once in some 300 times
COUNTS = [pytest.param(DAILY, DAILY - 1), pytest.param(40, 36, marks=pytest.mark.long_run)]


def draw(kind: str, count: int) -> Iterator[tuple[Sound, TakeMeasurement]]:
    """The first sounds of a kind with their measurements."""
    return (_draw_one(kind, at) for at in range(count))


@lru_cache(maxsize=8 * DAILY)  # some kinds are asked about twice
def _draw_one(kind: str, at: int) -> tuple[Sound, TakeMeasurement]:
    sound = KINDS[kind](np.random.default_rng([SEED, zlib.crc32(kind.encode()), at]))
    return sound, measure_take(sound.samples, RATE)


def _off_cents(take: TakeMeasurement, f0_hz: float) -> float:
    assert take.f0_hz is not None
    return float(abs(1200 * np.log2(take.f0_hz / f0_hz)))


@pytest.mark.parametrize(
    ("kind", "verdict"),
    [
        ("trill", Verdict.TRILL),
        ("tremolo", Verdict.TREMOLO),
        ("bend or glissando", Verdict.BEND_OR_GLISSANDO),
        ("word", Verdict.SPEECH),
        ("multiphonic", Verdict.MULTIPHONIC),
        ("two clarinets", Verdict.MULTIPHONIC),
    ],
)
@pytest.mark.parametrize(("count", "least"), COUNTS)
def test_each_kind_has_its_name(kind: str, verdict: Verdict, count: int, least: int) -> None:
    takes = [take for _, take in draw(kind, count)]
    assert sum(take.verdict is verdict for take in takes) >= least
    assert all(take.f0_hz is None for take in takes if take.verdict is verdict)


@pytest.mark.parametrize(("count", "least"), COUNTS)
@pytest.mark.parametrize("kind", ["trill", "tremolo"])
def test_a_trill_and_a_tremolo_tell_their_notes_and_pace(kind: str, count: int, least: int) -> None:
    right = 0
    for sound, take in draw(kind, count):
        found = take.alternation
        if found is None or sound.rate_hz is None:
            continue
        low, high = sorted(sound.f0s_hz)
        off = [1200 * np.log2(a / b) for a, b in ((found.low_hz, low), (found.high_hz, high))]
        right += (
            max(abs(each) for each in off) < 40 and abs(found.rate_hz / sound.rate_hz - 1) < 0.2
        )
    assert right >= least


@pytest.mark.parametrize(("count", "least"), COUNTS)
def test_a_fluttered_note_has_its_pitch_and_its_rate(count: int, least: int) -> None:
    right = 0
    for sound, take in draw("flutter-tongue", count):
        if take.flutter_hz is None or sound.rate_hz is None:
            continue
        assert TakeWarning.FLUTTER_TONGUE in take.warnings
        right += _off_cents(take, sound.f0s_hz[0]) < 15
        assert take.flutter_hz == pytest.approx(sound.rate_hz, rel=0.1)
    assert right >= least


@pytest.mark.parametrize(("count", "least"), COUNTS)
def test_of_two_notes_after_one_another_the_longer_is_measured(count: int, least: int) -> None:
    takes = list(draw("one after the other", count))
    assert all(_off_cents(take, sound.f0s_hz[0]) < 50 for sound, take in takes if take.is_usable)
    assert sum(TakeWarning.TWO_NOTES in take.warnings for _, take in takes) >= least


def test_two_notes_in_a_ringing_room_are_no_multiphonic() -> None:
    notes = [Played(330.0, 0.7), Played(415.3, 0.6, 0.05)]
    take = measure_take(reverberate(play(notes), seconds=1.5), RATE)
    assert take.is_usable and TakeWarning.TWO_NOTES in take.warnings


@pytest.mark.parametrize("count", [1, pytest.param(40, marks=pytest.mark.long_run)])
@pytest.mark.parametrize(
    "kind", ["held", "short", "swell", "struck string", "high-passed", "through a codec"]
)
def test_a_clean_note_is_measured_whatever_its_sound(kind: str, count: int) -> None:
    takes = list(draw(kind, count))
    assert sum(take.is_usable for _, take in takes) >= (count if count < 40 else 38)
    assert all(_off_cents(take, sound.f0s_hz[0]) < 50 for sound, take in takes if take.is_usable)
    named = {Verdict.TRILL, Verdict.TREMOLO, Verdict.SPEECH, Verdict.MULTIPHONIC}
    assert not any(take.verdict in named or take.flutter_hz for _, take in takes)


@pytest.mark.parametrize("count", [DAILY, pytest.param(60, marks=pytest.mark.long_run)])
def test_a_soft_second_note_never_makes_a_wrong_pitch(count: int) -> None:
    for sound, take in draw("faint second note", count):
        assert not take.is_usable or _off_cents(take, sound.f0s_hz[0]) < 50


@pytest.mark.parametrize(("count", "least"), COUNTS)
def test_struck_metal_has_no_pitch(count: int, least: int) -> None:
    assert sum(not take.is_usable for _, take in draw("struck metal", count)) >= least


@pytest.mark.parametrize("f0_hz", [58.3, 82.0, 117.0, 146.0])
def test_a_low_note_without_its_lows_is_measured(f0_hz: float) -> None:
    tone = Tone(f0_hz, partial_db=dict.fromkeys(range(1, int(150 / f0_hz) + 1), -90.0))
    take = measure_take(tone.render(), tone.sample_rate_hz)
    assert take.is_usable and _off_cents(take, f0_hz) < 2


def _beat(f0_hz: float, apart_hz: float) -> Samples:
    time_s = np.arange(2 * RATE) / RATE
    lines = [(k, hz) for k in (1, 3, 5) for hz in (f0_hz, f0_hz + apart_hz)]
    tone = sum(np.sin(2 * np.pi * k * hz * time_s) / k for k, hz in lines)
    return np.asarray(
        0.05 * tone * fade(len(time_s)) + 1e-4 * np.random.default_rng(1).normal(size=len(time_s))
    )


def test_two_notes_that_beat_are_two_and_no_flutter() -> None:
    clip = _beat(400.0, 23.8)
    assert find_flutter_rate(clip, RATE) is None
    take = measure_take(clip, RATE)
    assert take.verdict is Verdict.MULTIPHONIC
    assert sorted(c.f0_hz for c in take.components) == pytest.approx([400.0, 423.8], rel=1e-3)


@pytest.mark.parametrize(
    "tone",
    [
        Tone(440.0, 2.0, vibrato_cents=40.0, vibrato_hz=6.5),
        Tone(294.0, 2.0, vibrato_cents=35.0, vibrato_hz=4.0, reverb_s=0.8),
        Tone(147.0, 2.0, vibrato_cents=30.0, drift_cents=20.0),
        Tone(830.0, 0.5, scoop_cents=80.0),
    ],
    ids=["wide", "in a room", "low, with drift", "a scoop"],
)
def test_vibrato_drift_and_a_scoop_are_no_trill_no_bend_and_no_word(tone: Tone) -> None:
    assert measure_take(tone.render(), tone.sample_rate_hz).verdict is Verdict.OK


def test_a_slurred_scale_is_no_glissando() -> None:
    scale = [Played(220 * 2 ** (k / 12), 0.16, 0.0 if k else 0.2) for k in range(12)]
    assert measure_take(play(scale), RATE).verdict is not Verdict.BEND_OR_GLISSANDO


def test_a_long_struck_string_that_dies_away_into_noise_is_a_note() -> None:
    time_s = np.arange(30 * RATE) / RATE
    tone = sum(
        0.5 ** (time_s / (3.5 / k**0.5)) * np.sin(2 * np.pi * 131.0 * k * time_s) / k
        for k in range(1, 9)
    )
    noise = make_noise(len(time_s), np.random.default_rng(6))
    tone = tone / np.sqrt(np.mean(tone**2)) * fade(len(time_s), rise_s=0.004)
    take = measure_take(0.05 * (tone + 10**-1.5 * noise), RATE)
    assert take.is_usable and _off_cents(take, 131.0) < 2
