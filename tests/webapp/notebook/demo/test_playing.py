"""How takes are played: the pitch is the target moved by the offset, and clips never change."""

import io
import wave
from dataclasses import replace

import pytest

from analysis.pitch import SoundingPitch
from webapp.notebook.demo.playing import find_f0_hz, play_take
from webapp.notebook.demo.story import DemoFingering, DemoInstrument, DemoTake, read_story

A4 = SoundingPitch(6900.0)


@pytest.fixture(name="instrument")
def _instrument() -> DemoInstrument:
    return read_story()[0]


@pytest.fixture(name="fingering")
def _fingering(instrument: DemoInstrument) -> DemoFingering:
    return next(each for each in instrument.fingerings if len(each.takes) > 1)


def test_a_take_sounds_its_target_moved_by_its_offset(fingering: DemoFingering) -> None:
    # A4 at a tuning A of 442 Hz is 442 Hz; 1200 cents above is twice that (definition of cents).
    take = replace(fingering.takes[0], offset_cents=1200.0)
    assert find_f0_hz(take, A4, 442.0) == pytest.approx(884.0)


def test_the_same_take_gives_the_same_bytes(
    fingering: DemoFingering, instrument: DemoInstrument
) -> None:
    first, second = (
        play_take(fingering.takes[0], fingering, instrument, target=A4) for _ in range(2)
    )
    assert first == second


def test_takes_that_differ_only_in_time_are_different_clips(
    fingering: DemoFingering, instrument: DemoInstrument
) -> None:
    later = replace(fingering.takes[0], at=fingering.takes[1].at)
    assert play_take(fingering.takes[0], fingering, instrument, target=A4) != play_take(
        later, fingering, instrument, target=A4
    )


def test_clips_are_short(fingering: DemoFingering, instrument: DemoInstrument) -> None:
    silent = DemoTake(at=fingering.takes[0].at, is_silent=True)
    for take in (*fingering.takes, silent):
        clip = play_take(take, fingering, instrument, target=A4)
        with wave.open(io.BytesIO(clip)) as sound:
            assert 1.4 < sound.getnframes() / sound.getframerate() < 2.5
