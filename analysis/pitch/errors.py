"""Errors about pitch, each with a sentence for the player.

::

    PitchError
    +-- UnreadablePitch         the text is no pitch; carries the text and the position
    +-- AmbiguousPitch          the text has several meanings; carries texts to choose from
    +-- PitchOutOfRange         a pitch, frequency or division beyond what can be written here
    +-- TuningOutOfRange        a tuning A that no ensemble uses
    +-- UnknownInstrumentKind   no clarinet of this name
    +-- UnknownInterval         no just interval of this name
    +-- UnknownSignSystem       no system of signs of this name, or a size it cannot have

Mixing written and sounding pitch is a mistake of the code and not of the player: it raises a plain
`TypeError` (see `analysis.pitch.height_order`).
"""

from analysis.errors import AnalysisError


class PitchError(AnalysisError):
    """Base of everything that can go wrong with a pitch."""


class UnreadablePitch(PitchError):
    """The text cannot be read as a pitch.

    `text` is what was read (in Unicode's composed form) and `position` the index of the first
    character in it that made no sense, from 0 to `len(text)`. `candidates` are texts that can be
    read and may have been meant; there may be none. `beside_choices` is the message for where the
    candidates stand beside it and it need not quote them.
    """

    def __init__(
        self,
        message: str,
        *,
        text: str,
        position: int,
        candidates: tuple[str, ...] = (),
        beside_choices: str = "",
    ) -> None:
        super().__init__(message)
        self.text = text
        self.position = position
        self.candidates = candidates
        self.beside_choices = beside_choices or message


class AmbiguousPitch(PitchError):
    """The text can mean several pitches; the message is a question.

    Each of `candidates` is a text that reads as exactly one pitch under the same note names.
    `beside_choices` is the question for where they stand beside it and it need not quote them.
    """

    def __init__(
        self, message: str, *, text: str, candidates: tuple[str, ...], beside_choices: str
    ) -> None:
        super().__init__(message)
        self.text = text
        self.candidates = candidates
        self.beside_choices = beside_choices


class PitchOutOfRange(PitchError):
    """A pitch, frequency or division beyond what can be written here."""


class TuningOutOfRange(PitchError):
    """A tuning A outside 390 to 470 Hz."""


class UnknownInstrumentKind(PitchError):
    """No member of the clarinet family goes by this name."""


class UnknownInterval(PitchError):
    """No just interval goes by this name."""


class UnknownSignSystem(PitchError):
    """No system of signs goes by this name, or one of its sizes is out of range."""
