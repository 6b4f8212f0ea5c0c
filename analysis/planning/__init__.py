"""Planning: what it costs to move between fingerings, for passages, trills and single notes.

Ground: `analysis.pitch`, `analysis.keywork`, `analysis.acoustics`, `analysis.finder`.
"""

from analysis.planning.motion_cost import MotionTable, Played, Transition
from analysis.planning.trills import PairCost, find_pair_cost

__all__ = ["MotionTable", "PairCost", "Played", "Transition", "find_pair_cost"]
