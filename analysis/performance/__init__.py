"""Performances: a passage played at tempo, note by note, beside what was expected.

The way through: `find_note_events` (samples to onsets, ends and pitches), `match_events` (which
note of the passage each is, as a hidden Markov model), `read_performance` (both, with what each
note did in context: cents, and how even in time). `measure_loop` is for a slur back and forth
between two notes: rate, evenness, transition times (`two_note_loops`). Pure; a performance is no
evidence for a fingering, which is measured held (`analysis.recording`).
"""

from analysis.performance.context import (
    NoteInContext,
    RunThrough,
    SoundedNote,
    read_performance,
)
from analysis.performance.errors import NoLoop
from analysis.performance.expected_passage import ExpectedNote, ExpectedPassage
from analysis.performance.matching import Match, match_events
from analysis.performance.note_events import NoteEvent, find_note_events
from analysis.performance.two_note_loops import (
    LEAST_INTERVAL_CENTS,
    LOOP_METHOD_VERSION,
    MeasuredLoop,
    TransitionTime,
    describe_evenness,
    measure_loop,
)

__all__ = [
    "LEAST_INTERVAL_CENTS",
    "LOOP_METHOD_VERSION",
    "ExpectedNote",
    "ExpectedPassage",
    "Match",
    "MeasuredLoop",
    "NoLoop",
    "NoteEvent",
    "NoteInContext",
    "RunThrough",
    "SoundedNote",
    "TransitionTime",
    "describe_evenness",
    "find_note_events",
    "match_events",
    "measure_loop",
    "read_performance",
]
