"""Which fingering each note of a long recording may be: by its pitch, or in an order of a list."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from analysis.pitch import SoundingPitch, Tuning
from analysis.recording import (
    MeasuredSpan,
    TakeMeasurement,
    TakeSpan,
    Verdict,
    propose_by_pitch,
)
from webapp.notebook.store.rows import Fingering, LongRecording, Segment

CANDIDATES = 4


class Order(StrEnum):
    """How fingerings are proposed for the notes of a recording."""

    PITCH = "pitch"
    RISING = "rising"
    FALLING = "falling"
    LOGGED = "logged"

    @property
    def words(self) -> str:
        """The order in words."""
        return {
            Order.PITCH: "by pitch: what each note sounds like",
            Order.RISING: "in order, low to high",
            Order.FALLING: "in order, high to low",
            Order.LOGGED: "in order, as logged",
        }[self]


@dataclass(frozen=True, slots=True)
class Wish:
    """How the player wants proposals made; no fingering chosen means all of them."""

    order: Order = Order.PITCH
    fingering_ids: frozenset[int] = frozenset()


def propose(
    recording: LongRecording,
    segments: Sequence[Segment],
    fingerings: Sequence[Fingering],
    *,
    near: Mapping[int, tuple[Fingering, ...]],
    wish: Wish,
) -> dict[int, int]:
    """Return the fingering proposed for each note that is not decided, each by its number.

    Args:
        recording: where the notes were found.
        segments: its notes in order of time.
        fingerings: the list that an order goes through.
        near: by note, the fingerings near its pitch, nearest first.
        wish: how to propose.
    """
    waiting = [each for each in segments if each.take_id is None and not each.is_discarded]
    if wish.order is Order.PITCH:
        closest = {row.id: row for each in waiting for row in near[each.id][:CANDIDATES]}
        return _propose_by_pitch(recording, waiting, _wished(list(closest.values()), wish))
    in_order = _sorted(_wished(fingerings, wish), wish.order)
    return {segment.id: row.id for segment, row in zip(waiting, in_order, strict=False)}


def sounding_of(recording: LongRecording, segment: Segment) -> SoundingPitch | None:
    """Return what a note sounded at the tuning A of its recording."""
    if segment.f0_hz is None:
        return None
    return _sound(recording, segment.f0_hz)


def alternating_of(
    recording: LongRecording, segment: Segment
) -> tuple[SoundingPitch, SoundingPitch] | None:
    """Return the lower and the upper note of a trill or a tremolo; None where it is none."""
    if segment.low_hz is None or segment.high_hz is None:
        return None
    return _sound(recording, segment.low_hz), _sound(recording, segment.high_hz)


def _sound(recording: LongRecording, f0_hz: float) -> SoundingPitch:
    return SoundingPitch.from_hz(f0_hz, Tuning(recording.tuning_a_hz))


def _propose_by_pitch(
    recording: LongRecording, segments: Sequence[Segment], fingerings: Sequence[Fingering]
) -> dict[int, int]:
    """Return the proposed fingering by note, each by its number."""
    rising = sorted(fingerings, key=lambda row: (row.sounding_cents, row.id))
    proposals = propose_by_pitch(
        [_span_of(each) for each in segments],
        [row.sounding_cents for row in rising],
        tuning_a_hz=recording.tuning_a_hz,
    )
    return {
        segment.id: rising[proposal.target_index].id
        for segment, proposal in zip(segments, proposals, strict=True)
        if proposal.target_index is not None
    }


def _span_of(segment: Segment) -> MeasuredSpan:
    span = TakeSpan(
        segment.from_s,
        segment.to_s,
        segment.steady_from_s,
        segment.steady_to_s,
        segment.f0_hz,
    )
    measured = TakeMeasurement(
        Verdict(segment.verdict), segment.to_s - segment.from_s, f0_hz=segment.f0_hz
    )
    return MeasuredSpan(span, measured)


def _wished(fingerings: Sequence[Fingering], wish: Wish) -> list[Fingering]:
    return [row for row in fingerings if not wish.fingering_ids or row.id in wish.fingering_ids]


def _sorted(fingerings: Sequence[Fingering], order: Order) -> list[Fingering]:
    if order is Order.LOGGED:
        return sorted(fingerings, key=lambda row: row.id)
    is_falling = order is Order.FALLING
    return sorted(fingerings, key=lambda row: (row.written_cents, row.id), reverse=is_falling)
