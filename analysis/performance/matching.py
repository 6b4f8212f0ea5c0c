"""Alignment of a performance with its passage: hidden Markov model, solved by Viterbi.

A state is the note of the passage that sounded last. From event to event it goes on to the next
note; stays, where a note was parted or struck again; leaves notes out; goes along a seam; or jumps,
as players do after a stop, mostly to the start of a bar and after a silence. An event may also be
no note of the passage at all. Each of these has a cost (minus the logarithm of how likely it is);
so have the distance in pitch, limited because wrong notes happen, and a length far from the
expected. The way with the least cost over all events is the match. Without jumps this is the
alignment of Needleman & Wunsch (J. Mol. Biol. 48, 1970; from memory). Costs are judgement, set on
made performances.

What all notes have in common, a day that makes all sharp or a slower tempo, is taken from a first
match, and the second is made with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.performance.expected_passage import SAME_CENTS, ExpectedNote, ExpectedPassage
from analysis.performance.note_events import NoteEvent

Floats = NDArray[np.floating[Any]]
Rows = NDArray[np.intp]

SPREAD_CENTS = 22.0
WRONG = 4.0
WRONG_CENTS = SPREAD_CENTS * float(np.sqrt(2 * WRONG))
EXTRA = 3.8
EXTRA_LENGTH_S = 0.1  # shorter ones are transients as a rule, and cost less
LEFT_OUT, LEFT_OUT_GRACE, LEFT_OUT_SAME = 3.0, 1.0, 2.0
FORWARD, BACK = 8.0, 6.8
PAUSE_S, PAUSE_HELPS, BAR_HELPS = 0.3, 2.0, 1.5
PARTED, STRUCK_AGAIN = 0.3, 2.0
STRONG_DIP_DB = 9.0
UNKNOWN_PITCH = 1.0
LENGTH_SLACK, LENGTH_PRICE, LENGTH_MOST = 0.5, 1.0, 2.5
STOPPED = 5.0
MOST_COMMON_CENTS, TEMPO_RANGE = 60.0, (0.4, 2.5)
FEWEST_IN_COMMON = 4
NOWHERE = -1


@dataclass(frozen=True, slots=True)
class Match:
    """Alignment of a performance: for each event the index of its note, None for no note.

    `common_cents` is what all notes are sharp (or flat) together, `tempo_share` how the time from
    note to note compares with the expected (over 1: slower).
    """

    places: tuple[int | None, ...]
    common_cents: float
    tempo_share: float


def match_events(events: Sequence[NoteEvent], passage: ExpectedPassage) -> Match:
    """Match the events of a performance with the notes of a passage, in two rounds.

    >>> notes = tuple(ExpectedNote(6900.0 + 100 * k, float(k), 1.0) for k in range(4))
    >>> played = [NoteEvent(0.5 * k, 0.5 * k + 0.5, 6905.0 + 100 * k, 0, 0) for k in (0, 1, 3)]
    >>> match_events(played, ExpectedPassage(notes, 0.5)).places
    (0, 1, 3)
    """
    if not events or not passage.notes:
        return Match((None,) * len(events), 0.0, 1.0)
    first = Match(_Aligner(events, passage, 0.0, 1.0).find_places(), 0.0, 1.0)
    common = _find_common(events, passage, first)
    return replace(
        common,
        places=_Aligner(events, passage, common.common_cents, common.tempo_share).find_places(),
    )


def is_right_pitch(event: NoteEvent, note: ExpectedNote, common_cents: float = 0.0) -> bool:
    """Whether an event is the note, and no wrong one; any pitch is where none is expected."""
    wanted = [each for each in (note.height_cents, note.other_cents) if each is not None]
    height_cents = event.height_cents - common_cents
    return not wanted or min(abs(height_cents - each) for each in wanted) < WRONG_CENTS


def _find_common(events: Sequence[NoteEvent], passage: ExpectedPassage, match: Match) -> Match:
    steps_s = passage.find_steps_s()
    away, tempo = [], []
    for at, place in enumerate(match.places):
        if place is None:
            continue
        note, event = passage.notes[place], events[at]
        if note.height_cents is not None and is_right_pitch(event, note):
            away.append(event.height_cents - note.height_cents)
        goes_on = at + 1 < len(events) and match.places[at + 1] == place + 1
        if goes_on and not note.is_grace:
            tempo.append((events[at + 1].from_s - event.from_s) / steps_s[place])
    cents, share = 0.0, 1.0
    if len(away) >= FEWEST_IN_COMMON:
        cents = float(np.clip(np.median(away), -MOST_COMMON_CENTS, MOST_COMMON_CENTS))
    if len(tempo) >= FEWEST_IN_COMMON:
        share = float(np.clip(np.median(tempo), *TEMPO_RANGE))
    return Match(match.places, cents, share)


class _Aligner:
    """Costs of one round, and the way through them."""

    def __init__(
        self,
        events: Sequence[NoteEvent],
        passage: ExpectedPassage,
        common_cents: float,
        tempo_share: float,
    ) -> None:
        self._events, self._passage = events, passage
        self._common_cents = common_cents
        self._steps_s = tempo_share * np.array(passage.find_steps_s())
        self._left_out = np.array(_price_leaving_out(passage.notes))
        # cost of leaving out all notes before each; one more than there are notes
        self._left_out_before = np.concatenate(([0.0], np.cumsum(self._left_out)))
        self._begins_bar = np.array([note.begins_bar for note in passage.notes])
        self._begins_bar[0] = True
        nan = float("nan")
        self._wanted = np.array(
            [
                [nan if each is None else each for each in (note.height_cents, note.other_cents)]
                for note in passage.notes
            ]
        )
        self._is_alternating = np.isfinite(self._wanted[:, 1])

    def find_places(self) -> tuple[int | None, ...]:
        """The note of each event on the cheapest way."""
        count = len(self._passage.notes)
        left_out = self._left_out_before
        # costs[i + 1]: note i sounded last; costs[0]: none yet
        costs = np.full(count + 1, np.inf)
        costs[0] = 0.0
        comes_from: list[Rows] = []
        is_extra: list[NDArray[np.bool_]] = []
        for at, event in enumerate(self._events):
            arriving, origin = self._arrive(costs, event)
            matched = arriving + self._price_notes(at)
            extra = costs + EXTRA * min(1.0, event.length_s / EXTRA_LENGTH_S)
            keeps = extra[1:] <= matched
            comes_from.append(
                np.concatenate(([0], np.where(keeps, np.arange(1, count + 1), origin)))
            )
            is_extra.append(np.concatenate(([True], keeps)))
            costs = np.concatenate((extra[:1], np.minimum(extra[1:], matched)))
        ending = np.minimum(left_out[-1] - left_out, STOPPED)
        state = int(np.argmin(costs + ending))
        places: list[int | None] = []
        for origins, extras in zip(reversed(comes_from), reversed(is_extra), strict=True):
            places.append(None if extras[state] else state - 1)
            state = int(origins[state])
        return tuple(reversed(places))

    def _arrive(self, costs: Floats, event: NoteEvent) -> tuple[Floats, Rows]:
        """The cheapest cost to be at each note, before it is heard, and the state it comes from."""
        count = len(self._passage.notes)
        every = np.arange(count)
        # onward: what lies between is left out
        slopes = costs[:-1] - self._left_out_before[:-1]
        lowest = np.minimum.accumulate(slopes)
        is_new = np.concatenate(([True], slopes[1:] < lowest[:-1]))
        origin = np.maximum.accumulate(np.where(is_new, every, 0))
        best = lowest + self._left_out_before[:-1]
        # stay: parted, or struck again
        is_struck = event.dip_db >= STRONG_DIP_DB or event.gap_s > 0
        stay = costs[1:] + np.where(
            self._is_alternating, 0.0, STRUCK_AGAIN if is_struck else PARTED
        )
        # jump from wherever it is cheapest
        cheapest = int(np.argmin(costs))
        jump = np.full(count, costs[cheapest]) + np.where(every >= cheapest, FORWARD, BACK)
        jump -= PAUSE_HELPS * (event.gap_s > PAUSE_S) + BAR_HELPS * self._begins_bar
        for offer, origins in ((stay, every + 1), (jump, np.full(count, cheapest))):
            is_better = offer < best
            best = np.where(is_better, offer, best)
            origin = np.where(is_better, origins, origin)
        for start, end in self._passage.seams:
            if costs[start + 1] < best[end]:
                best[end], origin[end] = costs[start + 1], start + 1
        return best, origin

    def _price_notes(self, at: int) -> Floats:
        """Emission cost: an event as each of the notes, by pitch and length."""
        event = self._events[at]
        away = np.abs(event.height_cents - self._common_cents - self._wanted)
        near = np.where(np.isnan(away), np.inf, away).min(axis=1)
        pitch = np.minimum(0.5 * (near / SPREAD_CENTS) ** 2, WRONG)
        pitch[np.isnan(self._wanted).all(axis=1)] = UNKNOWN_PITCH
        next_s = self._events[at + 1].from_s if at + 1 < len(self._events) else event.to_s
        longest_s = max(event.length_s, next_s - event.from_s)
        short = np.log2(self._steps_s / longest_s)
        long = np.log2(event.length_s / self._steps_s)
        off = np.maximum(np.maximum(short, long) - LENGTH_SLACK, 0.0)
        length = np.minimum(LENGTH_PRICE * off, LENGTH_MOST)
        return np.asarray(pitch + np.where(self._is_alternating, 0.0, length))


def _price_leaving_out(notes: Sequence[ExpectedNote]) -> list[float]:
    """Cost of leaving each note out; one that sounds as the last may be heard as one."""
    prices = []
    for note, before in zip(notes, (None, *notes), strict=False):
        price = LEFT_OUT_GRACE if note.is_grace else LEFT_OUT
        if before is not None and _are_same(note, before):
            price = min(price, LEFT_OUT_SAME)
        prices.append(price)
    return prices


def _are_same(one: ExpectedNote, other: ExpectedNote) -> bool:
    if one.height_cents is None or other.height_cents is None:
        return False
    return abs(one.height_cents - other.height_cents) <= SAME_CENTS
