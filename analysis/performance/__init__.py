"""Performances: a passage played at tempo, note by note, beside what was expected.

The way through: `find_note_events` (samples to onsets, ends and pitches), `match_events` (which
note of the passage each is, as a hidden Markov model), `read_performance` (both, with what each
note did in context: cents, and how even in time). Pure; a performance is no evidence for a
fingering, which is measured held (`analysis.recording`).
"""

from analysis.performance.context import (
    NoteInContext,
    RunThrough,
    SoundedNote,
    read_performance,
)
from analysis.performance.expected_passage import ExpectedNote, ExpectedPassage
from analysis.performance.matching import Match, match_events
from analysis.performance.note_events import NoteEvent, find_note_events

__all__ = [
    "ExpectedNote",
    "ExpectedPassage",
    "Match",
    "NoteEvent",
    "NoteInContext",
    "RunThrough",
    "SoundedNote",
    "find_note_events",
    "match_events",
    "read_performance",
]
