"""Steps of a fingered passage: each note with its fingering and what else there is."""

from dataclasses import dataclass

from analysis.performance import LEAST_INTERVAL_CENTS
from analysis.pitch import Sentence, WrittenPitch
from analysis.planning import Emphasis
from analysis.score import ScorePart
from webapp.notebook.loops.figures import tell_time
from webapp.notebook.pieces.passage_notes import Stretch, TimedNote, mark_of
from webapp.notebook.pieces.passage_options import NoteOption
from webapp.notebook.store.rows import FixedFingering, Instrument

# from here on a passage with another fingering is called a little harder, harder, much harder
_HARDER = ((0.15, "as easy"), (1.0, "a little harder"), (3.0, "harder"))
_MUCH_HARDER = "much harder"
TRILL_BETWEEN = " ~ "
"""Stands between the keys of a trill's two fingerings."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another fingering for a note, and by how much it makes the passage harder."""

    option: NoteOption
    harder: float

    @property
    def words(self) -> str:
        """How much harder, in words."""
        return tell_harder(self.harder)


@dataclass(frozen=True, slots=True)
class FingeredStep:
    """A note of a passage with its fingering.

    `option` is None where the note is open; `partner` is for the other note of a trill. `fixed` is
    what the player has fixed for the place, `way_cost` what going on to the next note costs.
    """

    timed: TimedNote
    bar_label: str
    option: NoteOption | None = None
    partner: NoteOption | None = None
    alternatives: tuple[Alternative, ...] = ()
    fixed: FixedFingering | None = None
    way_cost: float = 0.0

    @property
    def written(self) -> WrittenPitch:
        """The note."""
        return self.timed.written

    @property
    def key(self) -> tuple[int, str, str]:
        """Mark of the place: `mark_of`."""
        return mark_of(self.timed.note, self.written)

    @property
    def keys_text(self) -> str:
        """The keys, of a trill both, '' where it is open."""
        return TRILL_BETWEEN.join(each.keys_text for each in (self.option, self.partner) if each)


@dataclass(frozen=True, slots=True)
class AwkwardWay:
    """A transition that is awkward: from a note with its fingering to the next.

    `cost` is of one time at the tempo of the passage; `bars` are labels, each once. `is_trill`:
    there and back within one note. `time_s` is how long it takes, of a trill both ways, where a
    loop was recorded of it: then that decides about the cost, and not judgement.
    """

    first: tuple[WrittenPitch, NoteOption]
    second: tuple[WrittenPitch, NoteOption]
    cost: float
    words: Sentence
    bars: tuple[str, ...]
    count: int
    is_trill: bool = False
    time_s: float | None = None

    @property
    def mark(self) -> tuple[str, str, str, str]:
        """What makes it the same transition wherever it comes: its notes with their keys."""
        (one, first), (two, second) = self.first, self.second
        return one.canonical, first.keys_text, two.canonical, second.keys_text

    @property
    def is_up(self) -> bool:
        """Whether it leads to the higher note."""
        return self.second[0].cents > self.first[0].cents

    @property
    def is_loop(self) -> bool:
        """Whether a loop of it can be measured: its notes lie far enough apart."""
        return abs(self.second[0].cents - self.first[0].cents) >= LEAST_INTERVAL_CENTS

    @property
    def time_words(self) -> str:
        """How long it takes, as it was measured; empty where it is judged."""
        if self.time_s is None:
            return ""
        return f"{tell_time(self.time_s)}{' there and back' if self.is_trill else ''}"


@dataclass(frozen=True, slots=True)
class FingeredPassage:
    """A passage as it is best fingered now.

    `measured` are the transitions that a recorded loop decides about, the worst first.
    `is_waiting`: predictions are missing, since the player's model is not there yet.
    """

    instrument: Instrument
    part: ScorePart
    stretch: Stretch
    emphasis: Emphasis
    steps: tuple[FingeredStep, ...]
    awkward: tuple[AwkwardWay, ...]
    measured: tuple[AwkwardWay, ...]
    cost: float
    is_waiting: bool = False

    @property
    def told_ways(self) -> tuple[AwkwardWay, ...]:
        """The awkward transitions, the worst first, then those that are measured and are not."""
        known = {each.mark for each in self.awkward}
        return (*self.awkward, *(each for each in self.measured if each.mark not in known))

    @property
    def open_steps(self) -> tuple[FingeredStep, ...]:
        """The notes that nothing can be played for."""
        return tuple(each for each in self.steps if each.option is None)


def tell_harder(harder: float) -> str:
    """Say how much harder a passage gets; below 0 it gets easier."""
    if harder < -_HARDER[0][0]:
        return "easier"
    return next((words for bound, words in _HARDER if harder < bound), _MUCH_HARDER)
