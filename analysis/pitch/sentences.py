"""Sentence with notes in it: text and written pitches in turn, rendered where it is shown.

A page renders its notes by their signs, a command in words of the player's language; who builds the
sentence knows neither.
"""

from __future__ import annotations

from dataclasses import dataclass

from analysis.pitch.formatting import format_pitch
from analysis.pitch.names import NoteNames
from analysis.pitch.written import WrittenPitch


@dataclass(frozen=True, slots=True, init=False)
class Sentence:
    """Text and notes in their order; without parts it is empty, and false."""

    parts: tuple[str | WrittenPitch, ...]

    def __init__(self, *parts: str | WrittenPitch | Sentence) -> None:
        """Take the parts; those of a sentence among them stand in its place."""
        flat: list[str | WrittenPitch] = []
        for part in parts:
            flat.extend(part.parts if isinstance(part, Sentence) else (part,))
        object.__setattr__(self, "parts", tuple(part for part in flat if part != ""))

    def __bool__(self) -> bool:
        """Whether anything is said."""
        return bool(self.parts)

    def __str__(self) -> str:
        """Return it in English words."""
        return self.in_words(NoteNames.ENGLISH)

    def in_words(self, names: NoteNames) -> str:
        """Return it as text, with the notes in words of a language.

        >>> Sentence("You played ", WrittenPitch.from_canonical("D5-50c"), ".").in_words(
        ...     NoteNames.ENGLISH
        ... )
        'You played D quarter-flat 5.'
        """
        return "".join(
            part if isinstance(part, str) else format_pitch(part.to_be_read(), names=names)
            for part in self.parts
        )
