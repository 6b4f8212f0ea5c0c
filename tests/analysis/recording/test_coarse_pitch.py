"""Coarse pitch on single frames of tones known by formula."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.coarse_pitch import find_pitches, make_coarse_frames
from analysis.recording.spectral_lines import estimate_floor
from tests.analysis.recording.tones import Tone, make_noise


@pytest.mark.parametrize("f0_hz", [50.0, 73.4, 233.1, 830.6, 2500.0])
@pytest.mark.parametrize("snr_db", [60.0, 10.0])
def test_every_frame_of_a_tone_has_its_pitch(f0_hz: float, snr_db: float) -> None:
    tone = Tone(f0_hz, 1.0, snr_db=snr_db, silence_s=0.0)
    frames = make_coarse_frames(tone.render(), tone.sample_rate_hz)
    off_cents = 1200 * np.log2(find_pitches(frames).f0_hz / f0_hz)
    assert np.all(np.abs(off_cents) < 15)


def test_silence_and_noise_have_no_pitch() -> None:
    rng = np.random.default_rng(1)
    for samples in (np.zeros(44_100), make_noise(44_100, rng)):
        assert np.isnan(find_pitches(make_coarse_frames(samples, 44_100.0)).f0_hz).all()


def test_the_floor_of_white_noise_is_its_mean_power() -> None:
    # an exponential distribution has its median at ln 2 of its mean
    power = np.random.default_rng(2).exponential(3.0, (50, 1500))
    assert estimate_floor(power, 5.4).mean() == pytest.approx(3.0, rel=0.05)


def test_frames_cover_a_clip_in_half_overlapping_steps() -> None:
    frames = make_coarse_frames(np.zeros(48_000), 48_000.0)
    assert np.diff(frames.centres_s) == pytest.approx(0.093, abs=0.002)
