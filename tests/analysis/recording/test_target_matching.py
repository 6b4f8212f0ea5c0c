"""Which target a note is proposed for: by pitch, in order."""

from __future__ import annotations

import math

import pytest

from analysis.recording import (
    MeasuredSpan,
    NoProposal,
    TakeMeasurement,
    TakeSpan,
    Verdict,
    propose_by_pitch,
)

SPAN = TakeSpan(0.0, 1.0, 0.1, 0.9, None)
TARGETS = (6900.0, 6950.0, 7000.0)


def _played(*cents: float | None, tuning_a_hz: float = 440.0) -> list[MeasuredSpan]:
    takes = [
        TakeMeasurement(Verdict.NOISE, 1.0)
        if each is None
        else TakeMeasurement(Verdict.OK, 1.0, f0_hz=tuning_a_hz * 2 ** ((each - 6900) / 1200))
        for each in cents
    ]
    return [MeasuredSpan(SPAN, take) for take in takes]


def _chosen(spans: list[MeasuredSpan], targets: tuple[float, ...]) -> list[int | None]:
    return [proposal.target_index for proposal in propose_by_pitch(spans, targets)]


@pytest.mark.parametrize(
    ("cents", "expected"),
    [
        ((6900, 6950, 7000), [0, 1, 2]),
        ((6912, 6941, 7018), [0, 1, 2]),
        ((6900, 6903, 6950), [0, 0, 1]),  # the first one twice
        ((6900, 7000), [0, 2]),  # one left out
        ((7000, 6900), [2, 0]),  # backwards
        ((6950,), [1]),
        ((6924, 6950, 7000), [0, 1, 2]),
    ],
)
def test_notes_find_their_targets(cents: tuple[float, ...], expected: list[int]) -> None:
    assert _chosen(_played(*cents), TARGETS) == expected


def test_of_two_fingerings_for_one_pitch_the_order_decides() -> None:
    assert _chosen(_played(6900, 6902, 6950, 6951), (6900.0, 6900.0, 6950.0, 6950.0)) == [
        0,
        1,
        2,
        3,
    ]


def test_a_note_without_a_pitch_gets_none_and_says_so() -> None:
    first, second = propose_by_pitch(_played(None, 6900), TARGETS)
    assert first.target_index is None and first.no_proposal is NoProposal.NO_PITCH
    assert second.target_index == 0 and second.no_proposal is None


def test_a_note_a_semitone_and_more_from_all_gets_none_and_says_how_far() -> None:
    (far,) = propose_by_pitch(_played(8800), TARGETS)
    assert far.no_proposal is NoProposal.NO_TARGET_NEAR
    assert far.distance_cents == pytest.approx(1800.0)


def test_without_targets_there_is_no_proposal() -> None:
    (alone,) = propose_by_pitch(_played(6900), ())
    assert alone.no_proposal is NoProposal.NO_TARGET_NEAR and alone.distance_cents is None


def test_the_distance_is_counted_from_the_tuning() -> None:
    spans = _played(6910, tuning_a_hz=442.0)
    (proposal,) = propose_by_pitch(spans, TARGETS, tuning_a_hz=442.0)
    assert proposal.distance_cents == pytest.approx(10.0)
    (shifted,) = propose_by_pitch(spans, TARGETS)
    assert shifted.distance_cents == pytest.approx(10.0 + 1200 * math.log2(442 / 440))
