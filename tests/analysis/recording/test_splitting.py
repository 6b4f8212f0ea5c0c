"""Recordings of several notes taken apart: where the notes are is known by construction."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.recording import Verdict, cut_span, measure_spans, split_takes
from tests.analysis.recording.sounds import (
    RATE,
    Played,
    place_notes,
    play,
    reverberate,
    sound_together,
    speak,
)
from tests.analysis.recording.tones import Tone, make_noise

Samples = NDArray[np.float64]
PHRASE = (
    Played(220.0),
    Played(247.0, 1.0, 0.1),
    Played(262.0, 0.8, 0.0),
    Played(262.0 * 2 ** (50 / 1200), 0.6, 0.0),
    Played(294.0, 0.5, 0.06),
    Played(294.0, 0.5, 0.06),
    Played(294.0, 0.5, 0.06),
)


def _check(clip: Samples, notes: tuple[Played, ...], *, within_s: float = 0.12) -> None:
    split_shares, measured_shares = list[float](), list[float]()
    spans = split_takes(clip, RATE, progress=split_shares.append)
    assert len(spans) == len(notes)
    found = measure_spans(clip, RATE, spans, progress=measured_shares.append)
    for shares in (split_shares, measured_shares):
        assert shares == sorted(shares) and shares[-1] == 1.0, "progress rises to one"
    for measured, note, (from_s, to_s) in zip(found, notes, place_notes(notes), strict=True):
        span = measured.span
        assert span.from_s == pytest.approx(from_s, abs=within_s)
        assert span.to_s == pytest.approx(to_s, abs=within_s)
        assert span.from_s <= span.steady_from_s < span.steady_to_s <= span.to_s
        assert measured.measurement.is_usable
        assert measured.measurement.f0_hz == pytest.approx(note.f0_hz, rel=5e-4)
    for one, other in pairwise(spans):
        assert one.to_s <= other.from_s


def test_notes_with_gaps_slurred_and_tongued_are_each_found_and_measured() -> None:
    _check(play(PHRASE), PHRASE)


def test_so_they_are_in_noise() -> None:
    _check(play(PHRASE, snr_db=15.0), PHRASE)


def test_so_they_are_in_a_room() -> None:
    _check(reverberate(play(PHRASE)), PHRASE, within_s=0.2)


@pytest.mark.parametrize(
    "notes",
    [
        tuple(Played(400 * 2 ** (k / 24), 0.4, 0.0 if k else 0.3) for k in range(8)),
        tuple(Played(330.0, 0.4, 0.04 if k else 0.3) for k in range(6)),
        (Played(58.3), Played(62.0, 1.0, 0.1), Played(65.4, 1.0, 0.0)),
        (Played(1568.0), Played(1661.0, 0.5, 0.0), Played(1976.0, 0.5, 0.0)),
        (Played(220.0), Played(440.0, 0.5, 0.0), Played(660.0, 0.5, 0.0), Played(220.0, 0.5, 0.0)),
        (Played(220.0, level=0.2), Played(220.0, level=0.01), Played(247.0, level=0.005)),
    ],
    ids=["quarter tones slurred", "one pitch tongued", "low", "high", "octaves", "loud and soft"],
)
def test_phrases_come_apart(notes: tuple[Played, ...]) -> None:
    _check(play(notes, snr_db=60.0), notes)


def _tremolo() -> Samples:
    samples = Tone(440.0, 3.0).render()
    time_s = np.arange(len(samples)) / RATE
    return np.asarray(samples * (1 + 0.4 * np.sin(2 * np.pi * 5 * time_s)))


@pytest.mark.parametrize(
    "clip",
    [
        Tone(300.0, 3.0, vibrato_cents=40.0).render(),
        Tone(300.0, 3.0, drift_cents=40.0).render(),
        Tone(300.0, 2.0, scoop_cents=80.0).render(),
        _tremolo(),
        reverberate(np.concatenate([play([Played(440.0)]), np.zeros(2 * RATE)])),
    ],
    ids=["vibrato", "bend", "scoop", "tremolo", "tail of a room"],
)
def test_one_note_stays_whole(clip: Samples) -> None:
    assert len(split_takes(clip, RATE)) == 1


def test_talk_between_the_notes_is_left_out() -> None:
    parts = [play([Played(440.0)]), speak(1), play([Played(466.0)]), speak(2)]
    spans = split_takes(np.concatenate(parts), RATE)
    assert [round(span.f0_hz or 0) for span in spans] == [440, 466]


def test_a_multiphonic_is_one_take() -> None:
    parts = [play([Played(440.0)]), sound_together((180.0, 411.0), (0.0, -3.0))]
    clip = np.concatenate([*parts, play([Played(466.0)])])
    measured = measure_spans(clip, RATE, split_takes(clip, RATE))
    verdicts = [each.measurement.verdict for each in measured]
    assert verdicts == [Verdict.OK, Verdict.MULTIPHONIC, Verdict.OK]
    span = measured[1].span
    assert span.to_s - span.from_s == pytest.approx(1.5, abs=0.25)


@pytest.mark.parametrize(
    "clip",
    [
        np.zeros(RATE),
        np.zeros(0),
        np.zeros(100),
        np.full(RATE, np.nan),
        0.1 * make_noise(3 * RATE, np.random.default_rng(2)),
        play([Played(440.0, 0.15)]),
    ],
)
def test_where_nothing_is_held_nothing_is_found(clip: Samples) -> None:
    assert split_takes(clip, RATE) == ()


def test_a_span_is_cut_where_it_says() -> None:
    clip = play(PHRASE)
    span = split_takes(clip, RATE)[1]
    cut = cut_span(clip, RATE, span)
    assert len(cut) == pytest.approx((span.to_s - span.from_s) * RATE, abs=2)
    assert cut[0] == clip[round(span.from_s * RATE)]


@pytest.mark.parametrize("minutes", [(0.5, 1), pytest.param((1, 2), marks=pytest.mark.long_run)])
def test_memory_beside_the_samples_follows_the_10_ms_steps_alone(
    minutes: tuple[float, float],
) -> None:
    notes = [replace(note, seconds=0.8) for note in PHRASE]
    phrase = play(notes).astype(np.float32)[::4]
    peaks = []
    for each in minutes:
        clip = np.resize(phrase, round(each * 60 * RATE / 4))
        tracemalloc.start()
        try:
            assert len(split_takes(clip, RATE / 4)) > 50 * each
            peaks.append(tracemalloc.get_traced_memory()[1])
        finally:
            tracemalloc.stop()
    steps = (minutes[1] - minutes[0]) * 60 * 100
    assert peaks[1] - peaks[0] < steps * 1000  # a thousand bytes a step
    assert peaks[0] < 30e6  # a block
