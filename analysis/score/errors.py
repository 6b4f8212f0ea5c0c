"""Errors about scores, one class for each thing that a player can do something about.

::

    AnalysisError
    +-- ScoreError
        +-- NotAScore            something else: a picture, a PDF, a sound, a web page, a list
        +-- EmptyScore           no bytes, or an archive without a score
        +-- SeveralScores        more than one score in the archive
        +-- EncryptedScore       the archive is locked
        +-- UnsafeScore          defines entities or nests too deep: no exporter does that
        +-- ScoreTooLarge        more bytes, parts, notes or entries than are read
        +-- DamagedScore         starts like a score, but breaks off or is no valid XML
        +-- ReadingTookTooLong   stopped at its limit of time or memory
        +-- ScoreReaderFault     this program failed; the file may be sound
        +-- NoSuchPart           the file has fewer parts
        +-- NothingPitched       the part holds no note that has a pitch
        +-- UnreadableTypedPart  a typed part; carries the position and the bar
        +-- UnsuitableSetting    an answer that no part can be read by

Messages hold no path and no file name: the caller knows which file it asked about.
"""

from analysis.errors import AnalysisError


class ScoreError(AnalysisError):
    """Base of everything `analysis.score` raises on purpose."""


class NotAScore(ScoreError):
    """The content is not a score that can be read."""


class EmptyScore(ScoreError):
    """There are no bytes, or no score in the archive."""


class SeveralScores(ScoreError):
    """The archive holds more than one score."""


class EncryptedScore(ScoreError):
    """The archive is locked with a password."""


class UnsafeScore(ScoreError):
    """The file does what no exporter does and what could do harm."""


class ScoreTooLarge(ScoreError):
    """More bytes, parts, notes, elements or entries than are read."""


class DamagedScore(ScoreError):
    """The file breaks off, or is no valid XML or archive."""


class ReadingTookTooLong(ScoreError):
    """Reading reached its limit of time or memory and was stopped."""


class ScoreReaderFault(ScoreError):
    """Reading failed by a fault of this program, which says nothing about the file."""


class NoSuchPart(ScoreError):
    """The part that was asked for is not in the file."""


class NothingPitched(ScoreError):
    """The part holds no note with a pitch."""


class UnreadableTypedPart(ScoreError):
    """The text cannot be read as a part.

    `position` is the index of the character where it stops making sense, `bar` the label of the
    bar there.
    """

    def __init__(self, message: str, *, position: int, bar: str) -> None:
        super().__init__(message)
        self.position = position
        self.bar = bar


class UnsuitableSetting(ScoreError):
    """A setting of reading that cannot be meant."""
