"""Trills and tremolos in a long recording: each is one span, and what is held beside it stays."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.recording import MeasuredSpan, Verdict, measure_spans, split_takes
from tests.analysis.recording.kinds import KINDS
from tests.analysis.recording.sounds import RATE, Played, play, speak
from tests.analysis.recording.tones import Tone

Samples = NDArray[np.float64]
SEED = 78


def _find(clip: Samples) -> tuple[MeasuredSpan, ...]:
    return measure_spans(clip, RATE, split_takes(clip, RATE))


def _trill(
    low_hz: float, cents: float, rate_hz: float, *, gap_s: float, count: int
) -> list[Played]:
    pitches = [low_hz * 2 ** (cents * (at % 2) / 1200) for at in range(count)]
    return [Played(hz, 0.5 / rate_hz, 0.0 if at else gap_s) for at, hz in enumerate(pitches)]


@pytest.mark.parametrize("gap_s", [0.0, 0.4], ids=["slurred", "with a rest"])
@pytest.mark.parametrize(
    ("low_hz", "cents", "rate_hz"), [(220.0, 200, 3.5), (523.0, 100, 7.0), (392.0, 300, 9.0)]
)
def test_a_trill_between_held_notes_is_one_span(
    low_hz: float, cents: float, rate_hz: float, gap_s: float
) -> None:
    trill = _trill(low_hz, cents, rate_hz, gap_s=gap_s, count=14)
    notes = [Played(low_hz * 0.8, 1.0), *trill, Played(low_hz * 1.5, 1.0, gap_s)]
    before, between, after = _find(play(notes, snr_db=45.0))
    assert [each.measurement.verdict for each in (before, after)] == [Verdict.OK, Verdict.OK]
    found = between.measurement.alternation
    assert found is not None
    assert between.measurement.verdict is Verdict.TRILL
    assert between.span.f0_hz is None
    assert found.low_hz == pytest.approx(low_hz, rel=3e-3)
    assert found.interval_cents == pytest.approx(cents, abs=12)
    assert found.rate_hz == pytest.approx(rate_hz, rel=0.1)
    assert between.span.from_s == pytest.approx(0.3 + 1.0 + gap_s, abs=0.25)
    assert between.span.to_s - between.span.from_s == pytest.approx(7 / rate_hz, abs=0.35)


@pytest.mark.parametrize(
    ("count", "least"), [(1, 1), pytest.param(30, 54, marks=pytest.mark.long_run)]
)
def test_each_of_a_session_has_its_name_in_one_span(count: int, least: int) -> None:
    right = 0
    for at in range(count):
        rng = np.random.default_rng([SEED, at])
        kinds = ("held", "trill", "flutter-tongue", "tremolo", "held")
        sounds = [KINDS[kind](rng).samples for kind in kinds]
        levelled = [0.08 * each / np.sqrt(np.mean(each**2)) for each in sounds]
        edges_s = np.cumsum([0, *map(len, sounds)]) / RATE
        found = _find(np.concatenate(levelled))
        for number, verdict in ((1, Verdict.TRILL), (3, Verdict.TREMOLO)):
            inside = [
                each.measurement.verdict
                for each in found
                if edges_s[number]
                <= 0.5 * (each.span.from_s + each.span.to_s)
                < edges_s[number + 1]
            ]
            right += inside == [verdict]
    assert right >= least


@pytest.mark.parametrize(
    "clip",
    [
        Tone(300.0, 3.0, vibrato_cents=45.0).render(),
        play([Played(400 * 2 ** (k / 12), 0.15, 0.0 if k else 0.3) for k in range(12)]),
        play([Played(hz, 0.2, 0.04) for hz in (330.0, 370.0, 415.0, 330.0, 494.0, 415.0)]),
        speak(1),
        KINDS["noise"](np.random.default_rng(3)).samples,
    ],
    ids=["vibrato", "slurred scale", "tongued notes", "talk", "noise"],
)
def test_what_does_not_alternate_is_no_trill(clip: Samples) -> None:
    verdicts = {each.measurement.verdict for each in _find(clip)}
    assert not verdicts & {Verdict.TRILL, Verdict.TREMOLO}
