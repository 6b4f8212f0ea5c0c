"""Notes in context: what sounded of each note of a passage, how high, and how evenly in time.

A note parted by a breath of noise counts as one; struck again it was played twice. Timing compares
the time from one onset to the next with what the passage asks at the tempo played just then: the
median of the neighbouring steps, so that a slower tempo or a rallentando is no unevenness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.performance.expected_passage import ExpectedPassage
from analysis.performance.matching import STRONG_DIP_DB, Match, is_right_pitch, match_events
from analysis.performance.note_events import NoteEvent, find_note_events
from analysis.pitch.sounding import A4_CENTS
from analysis.recording.samples import is_readable

Floats = NDArray[np.floating[Any]]

NEIGHBOURS = 4  # steps on either side that say the tempo
LEAST_SHARE = 0.5
FEWEST_NOTES = 2
LONGEST_STEP_SHARE = 3.0  # beyond it the player has stopped


@dataclass(frozen=True, slots=True)
class SoundedNote:
    """A note that sounded. `place` is its index in the passage, None if it belongs to none.

    Times are in seconds from the start of the recording. `height_cents` counts with A4 = 6900 at
    the tuning A of the performance; `uncertainty_cents` is one standard deviation, None where it
    was too short or too unsteady for a figure in cents. `is_right` is False for a wrong note at its
    place. `late_s` is how much later than even the next note came (below 0: earlier), None where
    none followed at once.
    """

    place: int | None
    from_s: float
    to_s: float
    height_cents: float
    uncertainty_cents: float | None
    is_right: bool
    late_s: float | None = None


@dataclass(frozen=True, slots=True)
class NoteInContext:
    """Figures of one note of the passage, over all times it was played.

    `height_cents` is the median of those played right, with its standard deviation; None if none
    could be told. `late_s` is the median of theirs.
    """

    place: int
    played: tuple[SoundedNote, ...]
    height_cents: float | None
    uncertainty_cents: float | None
    late_s: float | None

    @property
    def right_count(self) -> int:
        """How often it was played as itself."""
        return sum(each.is_right for each in self.played)


@dataclass(frozen=True, slots=True)
class RunThrough:
    """A performance beside its passage.

    `notes` has one row for each note of the passage, `played` all that sounded in order of time.
    `tempo_share` is the tempo played as a share of the asked (below 1: slower), `uneven_s` the
    median of how far the steps from note to note lie from even, None where too few followed on.
    `is_passage`: enough of it was recognised to say anything.
    """

    notes: tuple[NoteInContext, ...]
    played: tuple[SoundedNote, ...]
    tempo_share: float
    uneven_s: float | None
    is_passage: bool


def read_performance(
    samples: Floats, sample_rate_hz: float, passage: ExpectedPassage, *, tuning_a_hz: float = 440.0
) -> RunThrough:
    """Find the notes of a performance and match them with a passage.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`, 8,000 to 192,000.

    Limits: as of `find_note_events` and `match_events`. What the tube does while a note is held
    less than 0.05 s is not seen.

    >>> from analysis.performance import ExpectedNote
    >>> time_s = np.arange(16_000) / 8_000
    >>> tone = 0.1 * np.sin(2 * np.pi * np.cumsum(np.where(time_s < 1, 440.0, 466.16)) / 8_000)
    >>> notes = (ExpectedNote(6900.0, 0.0, 1.0), ExpectedNote(7000.0, 1.0, 1.0))
    >>> run = read_performance(tone, 8_000, ExpectedPassage(notes, 1.0))
    >>> [round(each.height_cents) for each in run.notes]
    [6900, 7000]
    """
    samples = np.asarray(samples)
    heights = passage.heights_cents
    if not is_readable(samples, sample_rate_hz) or not heights:
        return _put_together((), passage, Match((), 0.0, 1.0), 0.0)
    if samples.dtype.itemsize < 4:
        samples = samples.astype(np.float32)
    events = find_note_events(
        samples,
        sample_rate_hz,
        lowest_hz=tuning_a_hz * 2 ** ((min(heights) - A4_CENTS) / 1200),
        least_step_cents=passage.find_least_step_cents(),
    )
    shift_cents = 1200 * float(np.log2(440.0 / tuning_a_hz))
    events = tuple(each.moved(shift_cents) for each in events)
    match = match_events(events, passage)
    return _put_together(events, passage, match, match.common_cents)


def _put_together(
    events: Sequence[NoteEvent], passage: ExpectedPassage, match: Match, common_cents: float
) -> RunThrough:
    joined = _join(events, match.places)
    is_right = [
        place is not None and is_right_pitch(event, passage.notes[place], common_cents)
        for event, place in joined
    ]
    late_s = _find_late(joined, passage)
    played = tuple(
        SoundedNote(
            place,
            event.from_s,
            event.to_s,
            event.height_cents,
            event.uncertainty_cents,
            right,
            late,
        )
        for (event, place), right, late in zip(joined, is_right, late_s, strict=True)
    )
    notes = tuple(_look_at(place, passage, played) for place in range(len(passage.notes)))
    known = [abs(late) for late in late_s if late is not None]
    right_count = sum(is_right)
    return RunThrough(
        notes=notes,
        played=played,
        tempo_share=1 / match.tempo_share,
        uneven_s=median(known) if known else None,
        is_passage=right_count >= max(FEWEST_NOTES, LEAST_SHARE * len(joined)),
    )


def _join(
    events: Sequence[NoteEvent], places: Sequence[int | None]
) -> list[tuple[NoteEvent, int | None]]:
    """Events with their places; what was one note, parted for a moment, is one again."""
    joined: list[tuple[NoteEvent, int | None]] = []
    for event, place in zip(events, places, strict=True):
        is_parted = event.dip_db < STRONG_DIP_DB and event.gap_s == 0
        if joined and place is not None and joined[-1][1] == place and is_parted:
            joined[-1] = (joined[-1][0].joined_with(event), place)
        else:
            joined.append((event, place))
    return joined


def _find_late(
    joined: Sequence[tuple[NoteEvent, int | None]], passage: ExpectedPassage
) -> list[float | None]:
    """How much later than even the note after each came, where it followed at once."""
    steps_s = passage.find_steps_s()
    shares = [_find_step_share(*pair, passage, steps_s) for pair in pairwise(joined)]
    late_s: list[float | None] = []
    for at, share in enumerate(shares):
        near = shares[max(0, at - NEIGHBOURS) : at + NEIGHBOURS + 1]
        around = [each for each in near if each is not None]
        place = joined[at][1]
        if share is None or place is None or len(around) < NEIGHBOURS:
            late_s.append(None)
        else:
            late_s.append(round((share - median(around)) * steps_s[place], 4))
    late_s += [None] * (len(joined) - len(late_s))
    return late_s


def _find_step_share(
    here: tuple[NoteEvent, int | None],
    after: tuple[NoteEvent, int | None],
    passage: ExpectedPassage,
    steps_s: Sequence[float],
) -> float | None:
    """The time to the next onset as a share of the asked; None where none can be compared."""
    (event, place), (next_event, next_place) = here, after
    if place is None or next_place != place + 1 or passage.notes[place].is_grace:
        return None
    share = (next_event.from_s - event.from_s) / steps_s[place]
    return share if share < LONGEST_STEP_SHARE else None


def _look_at(place: int, passage: ExpectedPassage, played: Sequence[SoundedNote]) -> NoteInContext:
    """All that was played of one note; a trill has no figure of its own."""
    own = tuple(each for each in played if each.place == place)
    late = [each.late_s for each in own if each.late_s is not None]
    told = [
        (each.height_cents, each.uncertainty_cents)
        for each in own
        if each.is_right and each.uncertainty_cents is not None
    ]
    note = passage.notes[place]
    if note.height_cents is None or note.other_cents is not None:
        told = []
    heights = [height for height, _ in told]
    middle = median(heights) if told else None
    uncertainty = median(each for _, each in told) if told else None
    if uncertainty is not None and len(told) > 1:  # how far the times differ counts too
        uncertainty = float(np.hypot(uncertainty, np.std(heights, ddof=1)) / np.sqrt(len(told)))
    return NoteInContext(place, own, middle, uncertainty, median(late) if late else None)
