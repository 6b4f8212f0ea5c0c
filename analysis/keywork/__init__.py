"""Keywork: layouts, key states, what they do to the holes, what hands can do, and their words."""

from analysis.keywork.catalogue import layout_ids, layouts_for_kind, load_layout
from analysis.keywork.changes import Change, Effect, describe_changes, find_changes
from analysis.keywork.errors import (
    DifferentLayouts,
    ImpossibleFingering,
    KeyworkError,
    LayoutError,
    StateNotAllowed,
    UnknownKey,
    UnknownLayout,
    UnreadableFingering,
)
from analysis.keywork.fingering import Fingering
from analysis.keywork.hands import Conflict, check_playable, find_conflicts
from analysis.keywork.holes import find_hole_states
from analysis.keywork.keys import (
    Acts,
    Bar,
    Circle,
    Digit,
    Finger,
    Hand,
    Hole,
    HoleState,
    Key,
    KeyKind,
    Outline,
    Rectangle,
    State,
)
from analysis.keywork.layout import Layout
from analysis.keywork.ordinary import OrdinaryFingering, neighbours, ordinary_fingerings
from analysis.keywork.reading import read_layout
from analysis.keywork.text import format_fingering, parse_fingering
from analysis.keywork.words import spell_out

__all__ = [
    "Acts",
    "Bar",
    "Change",
    "Circle",
    "Conflict",
    "DifferentLayouts",
    "Digit",
    "Effect",
    "Finger",
    "Fingering",
    "Hand",
    "Hole",
    "HoleState",
    "ImpossibleFingering",
    "Key",
    "KeyKind",
    "KeyworkError",
    "Layout",
    "LayoutError",
    "OrdinaryFingering",
    "Outline",
    "Rectangle",
    "State",
    "StateNotAllowed",
    "UnknownKey",
    "UnknownLayout",
    "UnreadableFingering",
    "check_playable",
    "describe_changes",
    "find_changes",
    "find_conflicts",
    "find_hole_states",
    "format_fingering",
    "layout_ids",
    "layouts_for_kind",
    "load_layout",
    "neighbours",
    "ordinary_fingerings",
    "parse_fingering",
    "read_layout",
    "spell_out",
]
