"""Field of a note: typed, chosen among what may have been meant, touched, or put together.

Beside the text stand, under the name of the field with an ending: `.choice`, a button for what may
have been meant; `.touched`, the exact note that a page's script wrote the text for; and for pages
without scripts `.letter`, `.octave`, `.sign` and `.cents`. What the player did last wins: a button,
then a letter that was chosen, then what was touched as long as its text stands, then the text.
"""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from collections.abc import Mapping
from contextlib import suppress
from fractions import Fraction

from wtforms import StringField, TextAreaField

from analysis.errors import AnalysisError
from analysis.pitch import WrittenPitch, format_pitch, parse_pitch
from analysis.pitch.lexicon import fold, parse_number
from analysis.pitch.names import LETTERS
from webapp.presenting.words import current_writing

_KEPT_MARK = "~"


class _ChosenField(StringField):
    """A text that a button may have replaced; `offered` are the buttons."""

    offered: tuple[tuple[str, str], ...] = ()

    def process(self, formdata: Mapping[str, str] | None, *args: object, **more: object) -> None:
        """Read the text and what stands beside it."""
        self._beside = _beside(formdata, self.name)
        super().process(formdata, *args, **more)
        if self._beside.get("choice"):
            self.data = self._beside["choice"]


class NoteField(_ChosenField):
    """One note."""

    def process(self, formdata: Mapping[str, str] | None, *args: object, **more: object) -> None:
        """Read the note from the last thing the player did."""
        super().process(formdata, *args, **more)
        beside = self._beside
        if beside.get("choice"):
            return
        if beside.get("letter", "") in tuple(LETTERS):
            self._put_together(beside)
        elif _is_same(self.data or "", beside.get("touched", "")):
            self.data = beside["touched"]

    @property
    def touched(self) -> str:
        """The exact note behind the text, where the text alone does not tell it."""
        return self.data if _KEPT_MARK in (self.data or "") else ""

    @property
    def shown(self) -> str:
        """The text as the field shows it."""
        return _show(self.data or "")

    def _value(self) -> str:
        return self.shown

    def _put_together(self, beside: Mapping[str, str]) -> None:
        try:
            sign = Fraction(beside.get("sign") or 0)
            rest = _read_signed(beside.get("cents") or "0")
            octave = int(beside.get("octave") or 5)
            kept = sign if rest else None
            self.data = WrittenPitch(beside["letter"], sign + rest, octave, kept).kept_text
        except (ValueError, ZeroDivisionError):
            self.process_errors = [
                "Choose a note, an octave and a sign, and give cents as a number such as -13.7."
            ]
        except AnalysisError as error:
            self.process_errors = [str(error)]


class NoteListField(_ChosenField, TextAreaField):
    """Several notes in one text."""


def _beside(formdata: Mapping[str, str] | None, name: str) -> dict[str, str]:
    if formdata is None:
        return {}
    parts = ("choice", "touched", "letter", "octave", "sign", "cents")
    return {part: formdata[f"{name}.{part}"] for part in parts if f"{name}.{part}" in formdata}


def _is_same(text: str, touched: str) -> bool:
    """Whether a text still says the note that was touched."""
    with suppress(AnalysisError):
        written = WrittenPitch.from_canonical(touched)
        return parse_pitch(text, names=current_writing().names) == written
    return False


def _read_signed(text: str) -> Fraction:
    """Read '-13.7' or '−13,7'; raises `ValueError` for anything else."""
    folded = fold(text).replace(" ", "")
    sign = -1 if folded.startswith("-") else 1
    return sign * parse_number(folded.removeprefix("-").removeprefix("+"))


def _show(text: str) -> str:
    """A stored note as the player reads it; any other text as it is."""
    if _KEPT_MARK in text:
        with suppress(AnalysisError):
            written = WrittenPitch.from_canonical(text)
            return format_pitch(written, names=current_writing().names, style="short")
    return text
