"""Keywork: layouts, key states, what they do to the holes, what hands can do, and their words."""

from typing import TYPE_CHECKING

from analysis.late_names import late_names

if TYPE_CHECKING:
    from analysis.keywork.acoustic_equality import are_acoustically_equal, hole_signature
    from analysis.keywork.catalogue import layout_ids, layouts_for_kind, load_layout
    from analysis.keywork.changes import Change, Effect, describe_changes, find_changes
    from analysis.keywork.customising import customise, optional_keys, right_thumb_choices
    from analysis.keywork.ease import AWKWARD_FIGURE, Ease, EaseTerm, assess_ease
    from analysis.keywork.errors import (
        DifferentLayouts,
        ImpossibleFingering,
        KeyNotOptional,
        KeyworkError,
        LayoutError,
        StateNotAllowed,
        UnknownKey,
        UnknownLayout,
        UnreadableFingering,
    )
    from analysis.keywork.first_day import FirstFingering, list_first_day
    from analysis.keywork.hands import (
        Conflict,
        FingerPair,
        assign_fingers,
        check_playable,
        explain_beyond,
        find_competition,
        find_conflicts,
        find_pairs,
        is_kept_from_thumb,
    )
    from analysis.keywork.holes import find_hole_states
    from analysis.keywork.key_names import typed_names
    from analysis.keywork.key_states import KeyStates
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
    from analysis.keywork.layout_reading import read_layout
    from analysis.keywork.layout_writing import write_layout
    from analysis.keywork.motion import (
        FingerMotion,
        FingerMove,
        Slide,
        SlideKind,
        describe_motion,
        find_moves,
    )
    from analysis.keywork.ordinary import (
        OrdinaryFingering,
        fingerings_to_try,
        neighbours,
        ordinary_fingerings,
    )
    from analysis.keywork.right_thumb import RightThumb
    from analysis.keywork.screen_reader_text import spell_out
    from analysis.keywork.short_changes import short_name, shorten_changes
    from analysis.keywork.text import format_fingering, parse_fingering

__all__ = [
    "AWKWARD_FIGURE",
    "Acts",
    "Bar",
    "Change",
    "Circle",
    "Conflict",
    "DifferentLayouts",
    "Digit",
    "Ease",
    "EaseTerm",
    "Effect",
    "Finger",
    "FingerMotion",
    "FingerMove",
    "FingerPair",
    "FirstFingering",
    "Hand",
    "Hole",
    "HoleState",
    "ImpossibleFingering",
    "Key",
    "KeyKind",
    "KeyNotOptional",
    "KeyStates",
    "KeyworkError",
    "Layout",
    "LayoutError",
    "OrdinaryFingering",
    "Outline",
    "Rectangle",
    "RightThumb",
    "Slide",
    "SlideKind",
    "State",
    "StateNotAllowed",
    "UnknownKey",
    "UnknownLayout",
    "UnreadableFingering",
    "are_acoustically_equal",
    "assess_ease",
    "assign_fingers",
    "check_playable",
    "customise",
    "describe_changes",
    "describe_motion",
    "explain_beyond",
    "find_changes",
    "find_competition",
    "find_conflicts",
    "find_hole_states",
    "find_moves",
    "find_pairs",
    "fingerings_to_try",
    "format_fingering",
    "hole_signature",
    "is_kept_from_thumb",
    "layout_ids",
    "layouts_for_kind",
    "list_first_day",
    "load_layout",
    "neighbours",
    "optional_keys",
    "ordinary_fingerings",
    "parse_fingering",
    "read_layout",
    "right_thumb_choices",
    "short_name",
    "shorten_changes",
    "spell_out",
    "typed_names",
    "write_layout",
]
__getattr__ = late_names(__name__, __file__)
