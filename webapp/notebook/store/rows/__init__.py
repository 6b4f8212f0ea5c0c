"""The rows of the notebook, declared for SQLAlchemy.

Conventions: cents are written or sounding cents with A4 = 6900; Hz appear only where sound entered.
Times are UTC. Key states and written targets are kept as their canonical text (`analysis.keywork`,
`analysis.pitch`), which is the truth; columns marked *derived* are computed from it by the verbs
and exist to be searched. Relationships lead from what belongs to what it belongs to, and never load
by themselves (`lazy="raise"`): a verb asks for what a page needs, so that the number of queries
cannot grow with the rows. `version` counts the player's own edits (new evidence is none), so that
an edit form can tell whether it is stale.
"""

from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.changes import RowChange
from webapp.notebook.store.rows.choices import Choice, Circumstance, NoteTolerance, Role, exact_key
from webapp.notebook.store.rows.claims import Claim
from webapp.notebook.store.rows.fingerings import Fingering, FingeringTag
from webapp.notebook.store.rows.instruments import Instrument
from webapp.notebook.store.rows.layouts import OwnLayout
from webapp.notebook.store.rows.loops import KeptLoop, LoopPair
from webapp.notebook.store.rows.own_pages import MarkForm, PageFile, PageMark
from webapp.notebook.store.rows.passages import ChosenPassage
from webapp.notebook.store.rows.pieces import (
    ComposerFingering,
    FixedFingering,
    FixKind,
    OriginalKind,
    Piece,
    PieceInstrument,
    PieceLetter,
    PieceOriginal,
    PrintedSheet,
    SettledNote,
    Settlement,
)
from webapp.notebook.store.rows.practice import LONGEST_PRACTICE, Practice
from webapp.notebook.store.rows.practice_lists import PracticeTarget, TargetState, TuningNote
from webapp.notebook.store.rows.preferences import Preferences
from webapp.notebook.store.rows.received import (
    OwnIdentity,
    ReceivedClip,
    ReceivedFingering,
    ReceivedInstrument,
    ReceivedList,
    ReceivedOrigin,
    Sender,
)
from webapp.notebook.store.rows.recordings import LongRecording, RecordingState, Segment
from webapp.notebook.store.rows.run_throughs import KeptRun, RunNote
from webapp.notebook.store.rows.suggestions import DismissReason, Suggestion, TryState
from webapp.notebook.store.rows.takes import Measurement, Take
from webapp.notebook.store.rows.upkeep import Upkeep

__all__ = [
    "LONGEST_PRACTICE",
    "Base",
    "Choice",
    "ChosenPassage",
    "Circumstance",
    "Claim",
    "ComposerFingering",
    "DismissReason",
    "Fingering",
    "FingeringTag",
    "FixKind",
    "FixedFingering",
    "Instrument",
    "KeptLoop",
    "KeptRun",
    "LongRecording",
    "LoopPair",
    "MarkForm",
    "Measurement",
    "NoteTolerance",
    "OriginalKind",
    "OwnIdentity",
    "OwnLayout",
    "PageFile",
    "PageMark",
    "Piece",
    "PieceInstrument",
    "PieceLetter",
    "PieceOriginal",
    "Practice",
    "PracticeTarget",
    "Preferences",
    "PrintedSheet",
    "ReceivedClip",
    "ReceivedFingering",
    "ReceivedInstrument",
    "ReceivedList",
    "ReceivedOrigin",
    "RecordingState",
    "Role",
    "RowChange",
    "RunNote",
    "Segment",
    "Sender",
    "SettledNote",
    "Settlement",
    "Suggestion",
    "Take",
    "TargetState",
    "TryState",
    "TuningNote",
    "Upkeep",
    "UtcDateTime",
    "exact_key",
]
