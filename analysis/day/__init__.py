"""The state of a day: what temperature and a pulled barrel do to every note of an instrument.

`find_day_state` infers it from tuning notes, `find_pull_effect` says how far a pulled barrel lowers
a note, and `fit_warming` how far a warmer room raises the instrument.
"""

from typing import TYPE_CHECKING

from analysis.late_names import late_names

if TYPE_CHECKING:
    from analysis.day.barrel_pull import find_pull_effect
    from analysis.day.day_state import (
        OCCASION_MIN,
        DayCorrection,
        DayState,
        PlayedNote,
        find_day_state,
    )
    from analysis.day.errors import DayError, NoTuningNotes
    from analysis.day.warming import WARMING_CENTS_PER_C, RoomWarming, WarmDay, fit_warming

__all__ = [
    "OCCASION_MIN",
    "WARMING_CENTS_PER_C",
    "DayCorrection",
    "DayError",
    "DayState",
    "NoTuningNotes",
    "PlayedNote",
    "RoomWarming",
    "WarmDay",
    "find_day_state",
    "find_pull_effect",
    "fit_warming",
]
__getattr__ = late_names(__name__, __file__)
