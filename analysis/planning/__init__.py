"""Planning: what it costs to move between fingerings, for passages, trills and single notes.

Ground: `analysis.pitch`, `analysis.keywork`, `analysis.acoustics`, `analysis.finder`.
"""

from analysis.planning.motion_cost import MotionTable, Played, Transition
from analysis.planning.passage_costs import (
    Backing,
    Emphasis,
    FingeringOption,
    PassageNote,
    PassageState,
    PassageWeights,
)
from analysis.planning.passages import (
    Passage,
    PassagePath,
    list_passage_paths,
    plan_passage,
)
from analysis.planning.trills import PairCost, find_pair_cost

__all__ = [
    "Backing",
    "Emphasis",
    "FingeringOption",
    "MotionTable",
    "PairCost",
    "Passage",
    "PassageNote",
    "PassagePath",
    "PassageState",
    "PassageWeights",
    "Played",
    "Transition",
    "find_pair_cost",
    "list_passage_paths",
    "plan_passage",
]
