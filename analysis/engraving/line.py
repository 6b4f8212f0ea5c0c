"""Line of notes to be engraved: what stands on the staff, and how much room each note gets."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, IntEnum
from fractions import Fraction


class NoteRoom(IntEnum):
    """How much room a note gets beside the others for what is drawn above it."""

    NONE = 0
    LETTER = 1
    WORDS = 2
    DRAWING = 3
    TWO_DRAWINGS = 4


class SignRoom(Enum):
    """How much room is kept before a note for its sign, which is drawn in afterwards."""

    NONE = ""
    ONE = "s"
    TWO = "ff"


@dataclass(frozen=True, slots=True)
class LineNote:
    """A note on the staff.

    `key` names it in the picture (letters and digits, unique in the line). `onset` and `duration`
    are in quarter notes, the onset from the start of the bar; a grace note lasts 0. `places` are
    letter and octave of each notehead, from low to high, `signs` the room of each one's sign.
    `articulations` and `dynamic` are those of MusicXML; `mark` is 'trill' or words above the note,
    `figure` the cents that its sign leaves out.
    """

    key: str
    onset: Fraction
    duration: Fraction
    places: tuple[tuple[str, int], ...]
    signs: tuple[SignRoom, ...]
    room: NoteRoom = NoteRoom.NONE
    is_slurred: bool = False
    articulations: tuple[str, ...] = ()
    dynamic: str = ""
    mark: str = ""
    figure: str = ""
    has_fermata: bool = False


@dataclass(frozen=True, slots=True)
class LineBar:
    """A bar: its length in quarter notes, the notes that begin in it, its number as printed."""

    length: Fraction
    notes: tuple[LineNote, ...]
    label: str = ""


@dataclass(frozen=True, slots=True)
class NoteLine:
    """Bars that follow each other; `clef` is treble or bass."""

    bars: tuple[LineBar, ...]
    clef: str = "treble"
