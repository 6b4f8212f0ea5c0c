"""Planning: what it costs to move between fingerings, for passages, trills and single notes.

Ground: `analysis.pitch`, `analysis.keywork`, `analysis.acoustics`, `analysis.finder`.
"""

from analysis.planning.errors import NoTrill, PlanningError
from analysis.planning.measured_motion import find_measured_costs
from analysis.planning.motion_cost import (
    MotionTable,
    Played,
    Transition,
    find_neighbour_costs,
    motion_table_of,
)
from analysis.planning.motion_tables import load_motion_table
from analysis.planning.passage_costs import (
    TRILL_TOLERANCE_CENTS,
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
    finger_passage,
)
from analysis.planning.playable import (
    Playable,
    join_playable,
    judge_measured,
    list_ordinary,
    predict_playable,
)
from analysis.planning.trill_table import TrillGrade, TrillStep, tabulate_trills
from analysis.planning.trills import (
    PairCost,
    RankedPair,
    check_interval,
    find_pair_cost,
    find_trills,
    rank_pairs,
)
from analysis.planning.variants import FingeringVariant, list_variants

__all__ = [
    "TRILL_TOLERANCE_CENTS",
    "Backing",
    "Emphasis",
    "FingeringOption",
    "FingeringVariant",
    "MotionTable",
    "NoTrill",
    "PairCost",
    "Passage",
    "PassageNote",
    "PassagePath",
    "PassageState",
    "PassageWeights",
    "PlanningError",
    "Playable",
    "Played",
    "RankedPair",
    "Transition",
    "TrillGrade",
    "TrillStep",
    "check_interval",
    "find_measured_costs",
    "find_neighbour_costs",
    "find_pair_cost",
    "find_trills",
    "finger_passage",
    "join_playable",
    "judge_measured",
    "list_ordinary",
    "list_variants",
    "load_motion_table",
    "motion_table_of",
    "predict_playable",
    "rank_pairs",
    "tabulate_trills",
]
