"""Scores: a part of a piece, from a score file or typed by hand, read for a player's questions.

The way through: `read_score_file` (untrusted file to a `PartTranscript`, in a child process) or
`parse_typed_part` and `to_transcript` (text to the same), then `read_part` (transcript and
`ReadingSettings` to a `ScorePart`, pure). What the settings leave open comes back as questions with
the readings that each answer leads to; answered, the same transcript is read again.
"""

from analysis.notation.transcript import PartTranscript, from_plain, to_plain
from analysis.score.errors import (
    DamagedScore,
    EmptyScore,
    EncryptedScore,
    NoSuchPart,
    NotAScore,
    NothingPitched,
    ReadingTookTooLong,
    ScoreError,
    ScoreReaderFault,
    ScoreTooLarge,
    SeveralScores,
    UnreadableTypedPart,
    UnsafeScore,
    UnsuitableSetting,
)
from analysis.score.files import ACCEPTED_WORDS, read_score_file
from analysis.score.parts import (
    LeftOut,
    NoteFlag,
    PartBar,
    PartNote,
    PartQuestion,
    PartRemark,
    PartSeam,
    PartSegment,
    PartTempo,
    PartText,
    QuestionReading,
    QuestionTopic,
    ScorePart,
    TrillKind,
)
from analysis.score.reading import read_part
from analysis.score.settings import (
    BOTTOM,
    TOP,
    ReadingSettings,
    SignLasts,
    TempoAnswer,
    TrillAnswer,
)
from analysis.score.settings_json import settings_from_plain, settings_to_plain
from analysis.score.sign_resolution import SignFlag
from analysis.score.typed import TypedBar, TypedNote, parse_typed_part
from analysis.score.typed_writing import to_transcript, write_typed_part

__all__ = [
    "ACCEPTED_WORDS",
    "BOTTOM",
    "TOP",
    "DamagedScore",
    "EmptyScore",
    "EncryptedScore",
    "LeftOut",
    "NoSuchPart",
    "NotAScore",
    "NoteFlag",
    "NothingPitched",
    "PartBar",
    "PartNote",
    "PartQuestion",
    "PartRemark",
    "PartSeam",
    "PartSegment",
    "PartTempo",
    "PartText",
    "PartTranscript",
    "QuestionReading",
    "QuestionTopic",
    "ReadingSettings",
    "ReadingTookTooLong",
    "ScoreError",
    "ScorePart",
    "ScoreReaderFault",
    "ScoreTooLarge",
    "SeveralScores",
    "SignFlag",
    "SignLasts",
    "TempoAnswer",
    "TrillAnswer",
    "TrillKind",
    "TypedBar",
    "TypedNote",
    "UnreadableTypedPart",
    "UnsafeScore",
    "UnsuitableSetting",
    "from_plain",
    "parse_typed_part",
    "read_part",
    "read_score_file",
    "settings_from_plain",
    "settings_to_plain",
    "to_plain",
    "to_transcript",
    "write_typed_part",
]
