"""Parser state of a typed text, and the two ways to turn it back to the player."""

from collections.abc import Sequence
from dataclasses import dataclass

from analysis.pitch.errors import AmbiguousPitch, UnreadablePitch
from analysis.pitch.formatting import format_pitch
from analysis.pitch.lexicon import Lexicon, fold, load_lexicon
from analysis.pitch.names import NoteNames
from analysis.pitch.sign_systems import SignSystem
from analysis.pitch.vocabulary import VOCABULARIES
from analysis.pitch.written import WrittenPitch


@dataclass(frozen=True, slots=True)
class Reading:
    """The text as typed and folded (both of one length, so positions agree), and how to read it.

    `system` says what arrows mean, None leaves it open; `in_hand` is the note that a size alone is
    counted from.
    """

    text: str
    folded: str
    names: NoteNames
    lexicon: Lexicon
    system: SignSystem | None = None
    in_hand: WrittenPitch | None = None

    @classmethod
    def begin(
        cls,
        text: str,
        names: NoteNames,
        system: SignSystem | None = None,
        in_hand: WrittenPitch | None = None,
    ) -> "Reading":
        """Prepare a text in Unicode's composed form for reading."""
        return cls(text, fold(text), names, load_lexicon(names), system, in_hand)

    def skip_spaces(self, position: int) -> int:
        """Return the position of the next character that is not a space."""
        rest = self.folded[position:]
        return position + len(rest) - len(rest.lstrip(" "))

    def refuse(self, position: int, found: str | None = None) -> UnreadablePitch:
        """Return the error that points at the first character that made no sense."""
        message = found or self._describe_trouble(position)
        examples = VOCABULARIES[self.names].examples
        return UnreadablePitch(
            f"{message} Write for example {examples}.", text=self.text, position=position
        )

    def ask(
        self, question: str, candidates: tuple[str, ...], *, beside_choices: str = ""
    ) -> AmbiguousPitch:
        """Return the error that asks which of several meanings was meant."""
        return AmbiguousPitch(
            question,
            text=self.text,
            candidates=candidates,
            beside_choices=beside_choices or "Which is meant?",
        )

    def show(self, pitch: WrittenPitch) -> str:
        """Return a pitch as text that reads back, without the comma that choices are listed by."""
        in_words = format_pitch(pitch, names=self.names)
        return format_pitch(pitch, names=self.names, style="short") if "," in in_words else in_words

    def _describe_trouble(self, position: int) -> str:
        whole, rest = self.text.strip(), self.text[position:].strip()
        if not whole:
            return "Nothing was typed."
        if not rest:
            return f"'{whole}' ends too early to be a pitch."
        if not self.text[:position].strip():
            return f"'{whole}' does not begin with a note name."
        return f"'{whole}' cannot be read as a pitch from '{rest}' on."


def join_choices(choices: Sequence[str]) -> str:
    """Return 'a, b or c'.

    >>> join_choices(("D4", "D5", "D6"))
    'D4, D5 or D6'
    """
    *first, last = choices
    return f"{', '.join(first)} or {last}" if first else last
