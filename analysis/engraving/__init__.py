"""Engraving of a few bars of one part, with room above the notes that get a drawing."""

from analysis.engraving.engraver import EngraverFault, engrave
from analysis.engraving.line import LineBar, LineNote, NoteLine, NoteRoom, SignRoom

__all__ = [
    "EngraverFault",
    "LineBar",
    "LineNote",
    "NoteLine",
    "NoteRoom",
    "SignRoom",
    "engrave",
]
