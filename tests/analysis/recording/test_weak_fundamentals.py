"""Notes with vibrato whose fundamental is missing or weak, over the whole range; near misses."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording import TakeWarning, measure_take, split_takes
from analysis.recording.coarse_pitch import find_pitches, make_coarse_frames
from tests.analysis.recording.sounds import RATE, Played, play
from tests.analysis.recording.tones import Tone, make_noise
from tests.thinning import each_daily

LOW_HZ = (58.3, 73.4, 110.0, 146.8, 233.1, 415.3, 622.3)
HIGH_HZ = (783.0, 932.3, 1108.7, 1318.5, 1568.0, 1760.0, 1900.0)
QUARTER_TONE = 2 ** (50 / 1200)


def _check(tone: Tone, *, within_cents: float) -> None:
    take = measure_take(tone.render(), tone.sample_rate_hz)
    assert take.is_usable, take.verdict
    assert take.f0_hz is not None and take.steady_from_s is not None
    assert take.steady_to_s is not None
    true_hz = tone.true_median_hz(take.steady_from_s, take.steady_to_s)
    assert abs(1200 * np.log2(take.f0_hz / true_hz)) < within_cents
    assert take.warnings == ()
    if tone.vibrato_cents:
        assert take.vibrato is not None
        assert take.vibrato.extent_cents == pytest.approx(tone.vibrato_cents, rel=0.1)


@pytest.mark.parametrize(
    ("partial_db", "vibrato_cents", "f0_hz"),
    each_daily([{1: -90.0}, {1: -30.0, 2: -10.0}, {}], [0.0, 20.0, 40.0], HIGH_HZ),
)
def test_high_notes_with_vibrato_are_measured(
    f0_hz: float, vibrato_cents: float, partial_db: dict[int, float]
) -> None:
    _check(
        Tone(f0_hz, vibrato_cents=vibrato_cents, partial_db=partial_db, snr_db=40.0),
        within_cents=1.6,
    )


@pytest.mark.parametrize(
    ("f0_hz", "vibrato_hz"), each_daily([830.6, 1479.9, 1864.7], [4.2, 5.37, 6.0])
)
def test_so_they_are_at_any_rate_of_vibrato(f0_hz: float, vibrato_hz: float) -> None:
    # 5.37 Hz is half a turn from frame to frame
    tone = Tone(f0_hz, vibrato_cents=30.0, vibrato_hz=vibrato_hz, partial_db={1: -90.0}, seed=3)
    _check(tone, within_cents=1.6)


@pytest.mark.parametrize(("f0_hz", "vibrato_cents"), each_daily(LOW_HZ, [0.0, 20.0]))
def test_low_notes_without_a_fundamental_are_measured(f0_hz: float, vibrato_cents: float) -> None:
    tone = Tone(f0_hz, vibrato_cents=vibrato_cents, partial_db={1: -90.0}, snr_db=40.0)
    _check(tone, within_cents=1.6)


@pytest.mark.parametrize(
    ("f0_hz", "partials"),
    each_daily([58.3, 233.1, 880.0, 1244.5, 1760.0], [(1, 3, 5, 7), (2, 3, 4, 5)]),
)
def test_two_slurred_notes_a_quarter_tone_apart_stay_two(
    f0_hz: float, partials: tuple[int, ...]
) -> None:
    notes = (Played(f0_hz, 0.8), Played(f0_hz * QUARTER_TONE, 0.6, 0.0))
    clip = play(notes, partials=partials)
    assert TakeWarning.TWO_NOTES in measure_take(clip, RATE).warnings
    spans = split_takes(clip, RATE)
    assert [span.f0_hz for span in spans] == pytest.approx([n.f0_hz for n in notes], rel=2e-3)


def test_a_quarter_tone_there_and_back_is_two_notes() -> None:
    pitches = (1244.5, 1244.5 * QUARTER_TONE) * 2
    notes = [Played(hz, 0.4, 0.0 if at else 0.3) for at, hz in enumerate(pitches)]
    assert TakeWarning.TWO_NOTES in measure_take(play(notes), RATE).warnings


@pytest.mark.parametrize("f0_hz", [880.0, 1396.9, 1864.7])
def test_a_scoop_is_no_second_note(f0_hz: float) -> None:
    _check(Tone(f0_hz, scoop_cents=80.0, partial_db={1: -90.0}), within_cents=1.0)


@pytest.mark.parametrize("f0_hz", HIGH_HZ)
def test_vibrato_makes_no_octave_or_twelfth_of_a_frame(f0_hz: float) -> None:
    for vibrato_cents in (0.0, 30.0):
        tone = Tone(f0_hz, vibrato_cents=vibrato_cents, partial_db={1: -90.0}, silence_s=0.0)
        frames = make_coarse_frames(tone.render(), tone.sample_rate_hz)
        off_cents = 1200 * np.log2(find_pitches(frames).f0_hz / f0_hz)
        assert np.all(np.abs(off_cents) < 60)


def test_noise_in_a_band_is_no_note() -> None:
    rng = np.random.default_rng(4)
    for low_hz in (500.0, 1000.0, 2000.0):
        bins = np.fft.rfft(make_noise(2 * RATE, rng))
        freq_hz = np.fft.rfftfreq(2 * RATE, 1 / RATE)
        bins[(freq_hz < low_hz) | (freq_hz > 1.06 * low_hz)] = 0.0
        noise = np.fft.irfft(bins)
        assert not measure_take(0.1 * noise / noise.std(), RATE).is_usable
