"""The live pitch, beside the server's measurement of the same samples.

The tones and their pitch are known by formula (`tests/analysis/recording/tones.py`). The server's
method has its own tests against Praat's and the Cramer-Rao bound; here both must agree, so that
what the stand shows is what the take will say.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np
import pytest

from analysis.recording import decode_clip, measure_take
from tests import recordings
from tests.analysis.recording.sounds import Played, play, sound_together, speak
from tests.analysis.recording.tones import Tone, make_noise
from tests.javascript.node import JavaScriptError, Node
from tests.javascript.tracking import Readings, Samples, track
from tests.thinning import each_daily
from tests.tools import report_missing

PITCHES_HZ = tuple(float(hz) for hz in np.geomspace(58.0, 1900.0, 12))
RATE_HZ = 44_100.0


def _compare(node: Node, samples: Samples, rate_hz: float) -> tuple[Samples, Readings]:
    """Differences from the server's median pitch, in cents, over its steady part."""
    samples = samples.astype(np.float32)
    take = measure_take(samples, rate_hz)
    assert take.f0_hz is not None, take.verdict
    assert take.steady_from_s is not None and take.steady_to_s is not None
    readings = track(node, samples, rate_hz)
    return readings.off_cents(take.f0_hz, take.steady_from_s, take.steady_to_s), readings


# Every day each pitch is read at one rate with one noise, the four cases taking turns.
TURNS = 4


@pytest.mark.parametrize("share", [1 / TURNS, pytest.param(1.0, marks=pytest.mark.long_run)])
@pytest.mark.parametrize("rate_hz", [44_100.0, 48_000.0])
@pytest.mark.parametrize(("snr_db", "most_cents"), [(40.0, 0.3), (20.0, 0.5)])
def test_a_held_note_reads_as_the_server_measures_it(
    node: Node, rate_hz: float, snr_db: float, most_cents: float, share: float
) -> None:
    turn = 2 * (rate_hz > 44_100.0) + (snr_db < 40.0)
    medians, worst = {}, {}
    for at, f0_hz in enumerate(PITCHES_HZ):
        if share < 1 and at % TURNS != turn:
            continue
        tone = Tone(
            f0_hz,
            duration_s=1.2,
            sample_rate_hz=rate_hz,
            snr_db=snr_db,
            wander_cents=0.3,
            amplitude_jitter=0.015,
            scoop_cents=30.0,
            seed=at,
        )
        off, _ = _compare(node, tone.render(), rate_hz)
        assert off.size >= 25
        medians[round(f0_hz)] = abs(float(np.median(off)))
        worst[round(f0_hz)] = float(np.abs(off).max())

    assert max(medians.values()) < most_cents, medians
    # not one reading is an octave or a twelfth off; the attack slides by 30 cents
    assert max(worst.values()) < 10.0, worst


@pytest.mark.parametrize(
    ("f0_hz", "partial_db"),
    [
        (73.4, {3: 7.0}),  # a low bass note whose third partial is above its first
        (830.6, {1: 0.0, 2: 16.0}),  # a clarion note whose second partial is far above its first
        (1244.5, {1: -30.0, 3: 0.0}),  # altissimo with hardly any fundamental
        (1400.0, {1: -20.0, 2: 0.0, 3: -6.0}),
        (196.0, {1: -90.0}),  # a missing fundamental
    ],
)
def test_no_note_is_taken_for_another_register(
    node: Node, f0_hz: float, partial_db: Mapping[int, float]
) -> None:
    tone = Tone(f0_hz, partial_db=partial_db, snr_db=30.0, is_noise_pink=True)

    off, _ = _compare(node, tone.render(), RATE_HZ)

    assert off.size > 30
    assert np.abs(off).max() < 3.0


def test_a_quiet_note_reads_as_well_as_a_loud_one(node: Node) -> None:
    off, readings = _compare(node, Tone(330.0, rms=0.002, snr_db=30.0).render(), RATE_HZ)

    assert np.abs(np.median(off)) < 0.3
    assert np.nanmedian(readings.level_db) == pytest.approx(-54.0, abs=1.0)  # 20 log10 0.002


def test_silence_and_noise_have_no_pitch(node: Node) -> None:
    rng = np.random.default_rng(5)
    size = round(4 * RATE_HZ)
    for samples in (
        np.zeros(size),
        0.1 * make_noise(size, rng),
        0.1 * make_noise(size, rng, is_pink=True),
        1e-5 * Tone(440.0).render(),  # under -80 dB
        np.full(size, np.nan),
        np.full(size, 0.4),  # a microphone's steady voltage is no sound
    ):
        assert track(node, samples, RATE_HZ).told_share() == 0.0


def test_hum_of_the_mains_does_not_hide_a_note(node: Node) -> None:
    time_s = np.arange(round(1.7 * RATE_HZ)) / RATE_HZ
    orders = np.arange(1, 5)[:, None]
    hum = np.sin(2 * np.pi * 50.0 * orders * time_s).sum(axis=0)
    note = Tone(1174.7).render()
    size = min(len(note), len(time_s))

    readings = track(node, note[:size] + 0.05 * hum[:size], RATE_HZ)

    assert np.abs(readings.off_cents(1174.7, 0.4, 1.4)).max() < 3.0


@pytest.mark.parametrize("step", [2, pytest.param(1, marks=pytest.mark.long_run)])
def test_talk_has_hardly_ever_a_pitch(node: Node, step: int) -> None:
    shares = [
        track(node, speak(seed, seconds=4.0, voice_hz=voice_hz), RATE_HZ).told_share()
        for seed, voice_hz in list(enumerate((90.0, 110.0, 120.0, 160.0, 220.0, 250.0)))[::step]
    ]

    assert np.mean(shares) < 0.05
    assert max(shares) < 0.12


@pytest.mark.parametrize("f0s_hz", [(196.0, 415.0), (440.0, 600.0), (147.0, 523.0, 700.0)])
def test_two_notes_at_once_have_no_pitch(node: Node, f0s_hz: tuple[float, ...]) -> None:
    samples = sound_together(f0s_hz, [0.0, -3.0, -5.0][: len(f0s_hz)])

    assert track(node, samples, RATE_HZ).told_share() < 0.1


@pytest.mark.parametrize("f0_hz", [70.0, 233.0, 880.0])
def test_vibrato_is_followed(node: Node, f0_hz: float) -> None:
    tone = Tone(f0_hz, duration_s=2.0, vibrato_cents=20.0, snr_db=40.0)

    readings = track(node, tone.render(), RATE_HZ)

    inside = (readings.times_s > 0.5) & (readings.times_s < 2.0)
    shown = 1200 * np.log2(readings.f0_hz[inside] / f0_hz)
    off = shown - tone.pitch_cents(readings.times_s[inside])
    assert np.isfinite(shown).all()
    assert np.abs(off).max() < 4.0  # a window of 45 ms or five periods rounds the crests
    assert np.percentile(np.abs(shown), 95) > 16.0
    held = 1200 * np.log2(readings.held_hz[inside] / f0_hz)
    assert np.abs(held[15:]).max() < 9.0  # the number to be read stands far stiller


def _first_heard(readings: Readings, hz: Samples, f0_hz: float, from_s: float) -> float:
    near = np.abs(1200 * np.log2(hz / f0_hz)) < 10.0
    return float(readings.heard_s[near & (readings.times_s > from_s)][0])


@pytest.mark.parametrize(
    ("f0_hz", "step_cents"),
    each_daily([62.0, 150.0, 440.0, 1200.0], [100.0, -100.0, 1200.0, 1902.0]),
)
def test_another_note_is_told_within_a_quarter_of_a_second(
    node: Node, f0_hz: float, step_cents: float
) -> None:
    next_hz = f0_hz * 2 ** (step_cents / 1200)
    if not 58.0 < next_hz < 1950.0:
        next_hz = f0_hz * 2 ** (-step_cents / 1200)
    samples = play([Played(f0_hz), Played(next_hz, gap_s=0.0)])
    step_s = 1.4

    readings = track(node, samples, RATE_HZ, step_s=0.01)

    assert _first_heard(readings, readings.f0_hz, next_hz, step_s - 0.1) - step_s < 0.25
    assert _first_heard(readings, readings.held_hz, next_hz, step_s - 0.1) - step_s < 0.25


def test_a_quarter_tone_is_told_at_once_and_the_number_follows_within_half_a_second(
    node: Node,
) -> None:
    next_hz = 300.0 * 2 ** (-50 / 1200)
    samples = play([Played(300.0), Played(next_hz, gap_s=0.0)])

    readings = track(node, samples, RATE_HZ, step_s=0.01)

    assert _first_heard(readings, readings.f0_hz, next_hz, 1.3) - 1.4 < 0.15
    assert _first_heard(readings, readings.held_hz, next_hz, 1.3) - 1.4 < 0.5


def test_a_note_is_told_within_a_third_of_a_second_of_its_attack(node: Node) -> None:
    readings = track(node, play([Played(247.0, gap_s=0.5)]), RATE_HZ, step_s=0.01)

    told = readings.heard_s[np.isfinite(readings.f0_hz)]
    assert 0.5 < told[0] < 0.83
    assert np.isnan(readings.f0_hz[readings.times_s > 1.7]).all()  # and no longer than it sounds


def test_a_slow_bend_is_followed(node: Node) -> None:
    tone = Tone(415.0, duration_s=2.0, drift_cents=80.0)

    readings = track(node, tone.render(), RATE_HZ)

    inside = (readings.times_s > 0.4) & (readings.times_s < 2.0)
    shown = 1200 * np.log2(readings.f0_hz[inside] / 415.0)
    assert np.abs(shown - tone.pitch_cents(readings.times_s[inside])).max() < 1.0


def test_steadiness_is_the_scatter_of_the_last_half_second(node: Node) -> None:
    rng = np.random.default_rng(8)
    still = track(node, Tone(262.0, duration_s=3.0).render(), RATE_HZ)
    # Pitch steps of 40 ms, normally distributed by 3 cents, smoothed by the tone's own window.
    steps = np.repeat(rng.normal(0.0, 3.0, 80), round(0.04 * RATE_HZ))
    turns = np.cumsum(262.0 * 2 ** (steps / 1200)) / RATE_HZ
    shaky = track(node, 0.1 * np.sin(2 * np.pi * turns), RATE_HZ)

    assert np.nanmax(still.spread_cents) < 0.1
    assert 1.0 < np.nanmedian(shaky.spread_cents) < 3.0
    # nothing is said about steadiness before the note has stood for 0.3 s
    first = still.times_s[np.isfinite(still.f0_hz)][0]
    assert still.times_s[np.isfinite(still.spread_cents)][0] - first == pytest.approx(0.3, abs=0.04)


def test_readings_come_thirty_times_a_second_in_order(node: Node) -> None:
    readings = track(node, Tone(300.0, duration_s=2.0).render(), RATE_HZ, step_s=0.01)

    steps = np.diff(readings.heard_s)
    assert np.mean(steps) == pytest.approx(1 / 30, rel=0.02)
    assert np.median(np.diff(readings.times_s)) == pytest.approx(1 / 30, rel=0.35)
    assert all(later >= earlier for earlier, later in pairwise(readings.heard_s))


def test_a_higher_lowest_note_makes_readings_come_earlier(node: Node) -> None:
    samples = play([Played(247.0, gap_s=0.3)])

    wide, narrow = (track(node, samples, RATE_HZ, low_hz=hz) for hz in (55.0, 146.0))

    assert narrow.heard_s[0] < 0.11
    assert wide.heard_s[0] > 0.18
    assert np.abs(narrow.off_cents(247.0, 0.4, 1.2)).max() < 1.0


def test_a_hole_in_the_stream_is_not_read_across(node: Node) -> None:
    samples = Tone(400.0, duration_s=1.8).render()

    times = node.job("live-pitch.js", "trackAcrossHole", samples, RATE_HZ, 1.0, 1.05)

    longest = max(later - earlier for earlier, later in pairwise(times))
    assert 0.05 + 0.17 < longest < 0.3  # a whole frame of 8192 samples has to come first


@pytest.mark.parametrize("size", [4, 8, 64, 4096])
def test_the_spectrum_is_that_of_numpy(node: Node, size: int) -> None:
    samples = np.random.default_rng(size).standard_normal(size)

    re, im = node.job("live-pitch.js", "transform", samples.tolist(), size)

    # Source: numpy.fft.rfft, an implementation of others.
    assert np.abs(np.array(re) + 1j * np.array(im) - np.fft.rfft(samples)).max() < 1e-10 * size


def test_a_spectrum_of_another_size_is_refused(node: Node) -> None:
    with pytest.raises(JavaScriptError, match="48 is not a power of two"):
        node.job("live-pitch.js", "transform", [0.0] * 48, 48)


@pytest.mark.real_recordings
@pytest.mark.parametrize("is_every", [False, pytest.param(True, marks=pytest.mark.long_run)])
def test_real_notes_read_as_the_server_measures_them(node: Node, is_every: bool) -> None:
    notes = recordings.find()
    if not notes:
        report_missing("real recordings not fetched: run the test command")
    differences = {}
    for note in notes:
        if not is_every and note.stem not in recordings.ONE_OF_EACH_REGISTER:
            continue
        clip = decode_clip(note)
        samples = clip.samples[: round(4 * clip.sample_rate_hz)]
        off, _ = _compare(node, samples.astype(np.float64), clip.sample_rate_hz)
        assert np.abs(off).max() < 30.0, note.stem
        differences[note.stem] = abs(float(np.median(off)))

    assert len(differences) == (recordings.NOTE_COUNT if is_every else 4)
    assert max(differences.values()) < 1.0, differences
    assert np.median(list(differences.values())) < 0.1, differences
