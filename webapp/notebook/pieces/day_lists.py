"""Day by day to the concert: which notes of a piece are practised on which day. Pure.

Open notes come first, the most pressing first; where a day has no room for all, they take turns by
the calendar, so that every one comes again. What is in tune fills the room that is left, in turns
as well, and is played again before the concert. High notes are strenuous: few of them a day. A
note that the player settled with a word is left alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from analysis.pitch import Register, register_of
from webapp.notebook.pieces.todo import TodoNote

MINUTES, LEAST_MINUTES, MOST_MINUTES = 20, 5, 120
MINUTES_A_NOTE = 2
MOST_HIGH = 3
"""Notes of the altissimo in 20 minutes."""
MOST_DAYS = 16
"""Days that are shared out at once: a fortnight after today, and one that says it goes on."""


@dataclass(frozen=True, slots=True)
class PracticeDay:
    """A day before the concert and the notes that are practised on it."""

    on: date
    notes: tuple[TodoNote, ...]

    @property
    def has_high_notes(self) -> bool:
        """Whether a note of the altissimo is among them."""
        return any(map(_is_high, self.notes))


def list_days(
    notes: Sequence[TodoNote], today: date, days_left: int, *, minutes: int = MINUTES
) -> tuple[PracticeDay, ...]:
    """Share the notes of a part out among the days from today to the one before the concert.

    No more than the first `MOST_DAYS` of them: the date of a concert may be a slip of the pen.

    Args:
        notes: what needs thought, the most pressing first.
        today: the first day.
        days_left: how many days lie before the concert; none where it is 0.
        minutes: for each day, `LEAST_MINUTES` to `MOST_MINUTES`.

    Raises:
        ValueError: minutes out of range.
    """
    if not LEAST_MINUTES <= minutes <= MOST_MINUTES:
        raise ValueError(f"{LEAST_MINUTES} to {MOST_MINUTES} minutes, not {minutes}")
    days = (today + timedelta(days=each) for each in range(min(days_left, MOST_DAYS)))
    return tuple(PracticeDay(day, _choose(notes, day, minutes)) for day in days)


def _choose(notes: Sequence[TodoNote], day: date, minutes: int) -> tuple[TodoNote, ...]:
    """Choose the notes of a day, in the order they are given."""
    room, high_room = minutes // MINUTES_A_NOTE, max(1, MOST_HIGH * minutes // MINUTES)
    chosen: list[TodoNote] = []
    for some in ([each for each in notes if not each.is_done], [n for n in notes if n.is_solved]):
        high = _take_turns([each for each in some if _is_high(each)], day, high_room)
        high = high[: max(0, room - len(chosen))]
        chosen += high
        high_room -= len(high)
        low = [each for each in some if not _is_high(each)]
        chosen += _take_turns(low, day, max(0, room - len(chosen)))
    places = {id(each): place for place, each in enumerate(notes)}
    return tuple(sorted(chosen, key=lambda each: places[id(each)]))


def _take_turns(notes: Sequence[TodoNote], day: date, room: int) -> list[TodoNote]:
    """Take as many as there is room for, going on where the day before ended."""
    if len(notes) <= room:
        return list(notes)
    start = day.toordinal() * room % len(notes)
    return [notes[(start + step) % len(notes)] for step in range(room)]


def _is_high(note: TodoNote) -> bool:
    return register_of(note.need.written) is Register.ALTISSIMO
