"""Notes of a passage in time: the bars chosen, the tempo, how long each note and each gap is.

Pure. A tempo of the player's own stands for the one at the first bar; changes of tempo within the
passage keep their proportion to it.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from analysis.pitch import Transposition, WrittenPitch
from analysis.score import PartNote, ScorePart, TrillKind
from webapp.notebook.pieces.places import find_second, list_written
from webapp.notebook.store.errors import FieldRefused

ASSUMED_QUARTERS_PER_MINUTE = 60.0
SLOWEST, FASTEST = 10.0, 400.0
GRACE_S = 0.1
_LAST_GAP_S = 1.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a part: bars by their indices, both included, and the player's own tempo."""

    first_bar: int
    last_bar: int
    quarters_per_minute: float | None = None


@dataclass(frozen=True, slots=True)
class TimedNote:
    """A note of a passage as written for the instrument, with its times in seconds.

    `second` is the other note of a trill or tremolo; `before` and `after` are the notes beside it
    in the part; `gap_s` leads to the onset of the next note of the passage.
    """

    note: PartNote
    written: WrittenPitch
    second: WrittenPitch | None
    before: WrittenPitch | None
    after: WrittenPitch | None
    length_s: float
    gap_s: float


def mark_of(note: PartNote, written: WrittenPitch) -> tuple[int, str, str]:
    """Mark a place: bar (index), place in the bar (a grace note's with its number), note."""
    grace = f" {note.index}" if note.is_grace else ""
    return note.bar, f"{note.onset}{grace}", written.canonical


def read_bars(part: ScorePart, typed: str) -> tuple[int, int]:
    """Read bars by their printed numbers, `12-16` or `12`; empty for all of the part.

    Of several bars of one number the first counts for the beginning and the last for the end; a
    number in brackets is the place of a bar from 1.

    Raises:
        FieldRefused: there is no such bar, or the last comes before the first.
    """
    text = typed.replace("–", "-").replace(" ", "")
    if not text:
        return 0, len(part.bars) - 1
    first, _, last = text.partition("-")
    begin = _find_bars(part, first)[0]
    end = _find_bars(part, last or first)[-1]
    if end < begin:
        raise FieldRefused(
            "bars", f"Bar {last} comes before bar {first}. Give the first one first."
        )
    return begin, end


def _find_bars(part: ScorePart, label: str) -> list[int]:
    found = [bar.index for bar in part.bars if (bar.label or f"({bar.index + 1})") == label]
    if not found:
        names = [bar.label or f"({bar.index + 1})" for bar in (part.bars[0], part.bars[-1])]
        raise FieldRefused(
            "bars", f"There is no bar “{label[:20]}” in this part; it has {names[0]} to {names[1]}."
        )
    return found


def name_stretch(part: ScorePart, stretch: Stretch) -> str:
    """Name the bars of a stretch by their printed numbers: `12-16`."""
    ends = [part.bars[bar].label or f"({bar + 1})" for bar in (stretch.first_bar, stretch.last_bar)]
    return ends[0] if stretch.first_bar == stretch.last_bar else "-".join(ends)


def check_tempo(quarters_per_minute: float) -> float:
    """Return a tempo that can be played.

    Raises:
        FieldRefused: it is out of its range.
    """
    if not SLOWEST <= quarters_per_minute <= FASTEST:
        raise FieldRefused("tempo", f"Give {SLOWEST:g} to {FASTEST:g} quarter notes a minute.")
    return quarters_per_minute


def find_tempo(part: ScorePart, bar: int) -> float | None:
    """Return the tempo at the start of a bar, in quarter notes a minute; None if not known.

    Before the first one the part's first tempo counts.
    """
    return _find_tempo(part, part.bars[bar].start)


def _find_tempo(part: ScorePart, start: Fraction) -> float | None:
    at = bisect_right(part.tempos, start, key=lambda tempo: tempo.start)
    if not part.tempos:
        return None
    return float(part.tempos[max(at - 1, 0)].quarters_per_minute)


def list_timed(
    part: ScorePart, transposition: Transposition, stretch: Stretch
) -> tuple[TimedNote, ...]:
    """Return the notes of a stretch that are for the instrument, in order, with their times."""
    line = list(list_written(part, transposition))
    by_index = {note.index: pitch for note, pitch in line}
    pace = _Pace(part, stretch)
    inside = [
        TimedNote(
            note,
            pitch,
            None if note.trill_kind is TrillKind.TIMBRAL else find_second(note, pitch),
            by_index.get(note.index - 1),
            by_index.get(note.index + 1),
            GRACE_S if note.is_grace else pace.find_s(note, note.duration),
            _LAST_GAP_S,
        )
        for note, pitch in line
        if stretch.first_bar <= note.bar <= stretch.last_bar
    ]
    return _measure_gaps(inside, pace)


class _Pace:
    """How long quarter notes are, by the part's tempos and the player's own."""

    def __init__(self, part: ScorePart, stretch: Stretch) -> None:
        self._part = part
        self._own = stretch.quarters_per_minute
        self._here = find_tempo(part, stretch.first_bar) if part.bars else None

    def find_s(self, note: PartNote, quarters: Fraction) -> float:
        printed = _find_tempo(self._part, note.start)
        if self._own is None:
            tempo = printed or ASSUMED_QUARTERS_PER_MINUTE
        elif printed is None or self._here is None:
            tempo = self._own
        else:
            tempo = self._own * printed / self._here
        return 60.0 * float(quarters) / tempo


def _measure_gaps(notes: Sequence[TimedNote], pace: _Pace) -> tuple[TimedNote, ...]:
    found = []
    for here, there in pairwise(notes):
        gap_s = pace.find_s(here.note, there.note.start - here.note.start)
        gap_s = GRACE_S if here.note.is_grace or gap_s <= 0.0 else gap_s
        found.append(replace(here, gap_s=gap_s))
    return (*found, *notes[-1:])
