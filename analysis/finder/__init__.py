"""Finder: ranked fingerings to try next for a target, and predictions of where they sound.

Ground: `analysis.pitch`, `analysis.keywork`, `analysis.acoustics`. Strategies are the trade's own
(common practice, from memory). Predictions come from a tube that is plausible, not measured, and
are corrected by the player's own takes.
"""

from typing import TYPE_CHECKING

from analysis.late_names import late_names

if TYPE_CHECKING:
    from analysis.finder.caching import FinderCache
    from analysis.finder.candidates import list_ordinary_starts, prepare
    from analysis.finder.colours import ColourAlternative, find_colour_distances, find_colours
    from analysis.finder.effects import key_effects
    from analysis.finder.errors import FinderError, FinderUnavailable
    from analysis.finder.inputs import DEFAULT_TOLERANCE_CENTS, LoggedPitch, Start, Wishes
    from analysis.finder.planning import plan_range
    from analysis.finder.player_model import PlayerModel
    from analysis.finder.results import (
        PREDICTION_VERSION,
        ErrorReduction,
        KeyEffect,
        Plan,
        PlannedTry,
        Prediction,
        RankedFingering,
        RegisterPrediction,
        Suggestions,
    )
    from analysis.finder.strategies import Strategy, recognise_strategy
    from analysis.finder.suggesting import MotionCosts, name_strategy, suggest
    from analysis.finder.untaught import UntaughtPitch, predict_untaught

__all__ = [
    "DEFAULT_TOLERANCE_CENTS",
    "PREDICTION_VERSION",
    "ColourAlternative",
    "ErrorReduction",
    "FinderCache",
    "FinderError",
    "FinderUnavailable",
    "KeyEffect",
    "LoggedPitch",
    "MotionCosts",
    "Plan",
    "PlannedTry",
    "PlayerModel",
    "Prediction",
    "RankedFingering",
    "RegisterPrediction",
    "Start",
    "Strategy",
    "Suggestions",
    "UntaughtPitch",
    "Wishes",
    "find_colour_distances",
    "find_colours",
    "key_effects",
    "list_ordinary_starts",
    "name_strategy",
    "plan_range",
    "predict_untaught",
    "prepare",
    "recognise_strategy",
    "suggest",
]
__getattr__ = late_names(__name__, __file__)
