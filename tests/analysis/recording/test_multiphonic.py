"""Several notes at once: made by formula, and single notes that come near."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.recording import (
    Component,
    TakeMeasurement,
    Verdict,
    explain,
    measure_take,
    read_measurement,
    write_measurement,
)
from tests.analysis.recording.sounds import RATE, Played, play, sound_together
from tests.analysis.recording.tones import Tone
from tests.thinning import each_daily

Samples = NDArray[np.float64]


@pytest.mark.parametrize(
    ("f0s_hz", "levels_db"),
    [
        ((233.0, 545.0), (0.0, -3.0)),
        ((180.0, 411.0), (0.0, -10.0)),
        ((311.0, 742.0), (-6.0, 0.0)),  # the upper one is louder
        ((262.0, 370.3), (0.0, 0.0)),
        ((220.0, 521.0, 893.0), (0.0, -3.0, -3.0)),
    ],
)
def test_a_multiphonic_is_named_with_its_notes_and_levels(
    f0s_hz: Sequence[float], levels_db: Sequence[float]
) -> None:
    take = measure_take(sound_together(f0s_hz, levels_db), RATE)
    assert take.verdict is Verdict.MULTIPHONIC and take.f0_hz is None
    assert len(take.components) >= 2
    found = [component.f0_hz for component in take.components]
    for f0_hz in f0s_hz:
        assert min(abs(1200 * np.log2(hz / f0_hz)) for hz in found) < 10
    levels = [component.level_db for component in take.components]
    assert levels[0] == 0.0 and levels == sorted(levels, reverse=True)
    loudest_hz = f0s_hz[int(np.argmax(levels_db))]
    assert found[0] == pytest.approx(loudest_hz, rel=0.01) or levels_db[0] == levels_db[1]
    assert read_measurement(write_measurement(take)) == take


def test_the_explanation_names_the_notes() -> None:
    take = TakeMeasurement(
        Verdict.MULTIPHONIC, 1.0, components=(Component(233.0, 0.0), Component(545.0, -3.0))
    )
    assert explain(take).startswith("Several notes sound at once (233.0 Hz and 545.0 Hz), so")


TRAPS: tuple[Mapping[int, float], ...] = (
    {},
    {3: 7.0},
    {1: 0.0, 2: 16.0},
    {1: -90.0},  # no fundamental
    {1: -30.0, 3: 0.0},  # a weak one
    {2: 3.0, 4: 0.0},
)


# how a note is played besides its pitch and its colour
PLAYED: tuple[Mapping[str, Any], ...] = (
    {},
    {"snr_db": 15.0, "is_noise_pink": True},
    {"vibrato_cents": 20.0},
    {"reverb_s": 1.0, "scoop_cents": 60.0},
    {"drift_cents": 30.0},
)


@pytest.mark.parametrize(
    ("partial_db", "f0_hz", "played"),
    each_daily(TRAPS, [58.3, 147.0, 233.0, 466.0, 831.0, 1397.0], PLAYED),
)
def test_one_note_of_any_colour_is_one(
    partial_db: Mapping[int, float], f0_hz: float, played: Mapping[str, Any]
) -> None:
    tone = Tone(f0_hz, 0.8, partial_db=partial_db, **played)
    verdict = measure_take(tone.render(), RATE).verdict
    assert verdict is not Verdict.MULTIPHONIC
    assert played or verdict is Verdict.OK


def _with_hum(mains_hz: float) -> Samples:
    samples = Tone(311.0, 1.5).render()
    time_s = np.arange(len(samples)) / RATE
    hum = sum(0.01 * np.sin(2 * np.pi * mains_hz * n * time_s) / n for n in (1, 2, 3))
    return np.asarray(samples + hum)


@pytest.mark.parametrize(
    "clip",
    [
        _with_hum(50.0),
        _with_hum(60.0),
        sound_together((220.0, 440.0), (0.0, -3.0)),  # an octave: one series
        sound_together((220.0,), (0.0,)),
        sound_together((220.0, 611.0), (0.0, -40.0)),  # next door
        play([Played(220.0), Played(311.0, 1.0, 0.0)]),  # one after the other
    ],
)
def test_what_is_no_multiphonic_is_not_called_one(clip: Samples) -> None:
    assert measure_take(clip, RATE).verdict is Verdict.OK
