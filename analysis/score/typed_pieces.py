"""Pieces of a typed part, each with its place in the text, so that an error can point there."""

from __future__ import annotations

import re
from dataclasses import dataclass

_LABEL = re.compile(r"\s*([^\s:|,~()\[\]\"“”]{1,12}):(?=\s|$)")
_CLOSING = {"(": ")", "[": "]", '"': '"', "“": "”"}


@dataclass(frozen=True, slots=True)
class TextStretch:
    """A stretch of the text, and the index where it begins in all of it."""

    text: str
    position: int

    def cut(self, start: int, end: int) -> TextStretch:
        """Return a part of the piece."""
        return TextStretch(self.text[start:end], self.position + start)

    @property
    def first_position(self) -> int:
        """The index of the first character that is no blank, or of the end."""
        return self.position + len(self.text) - len(self.text.lstrip())


@dataclass(frozen=True, slots=True)
class Suffixes:
    """A note without what stands behind it, and that; `unclosed` is a mark that is not closed."""

    body: TextStretch
    length: str
    fingering: str
    words: tuple[str, ...]
    unclosed: str


def split_pieces(piece: TextStretch, separators: str) -> list[TextStretch]:
    """Split at any of the separators, but not within brackets or quotation marks.

    >>> [each.text for each in split_pieces(TextStretch('D5 "a, b", E5', 0), ",")]
    ['D5 "a, b"', ' E5']
    """
    pieces, start, closing = [], 0, ""
    for at, character in enumerate(piece.text):
        if closing:
            # a mark that is not closed ends with its line
            closing = "" if character in (closing, "\n") else closing
        elif character in _CLOSING:
            closing = _CLOSING[character]
        if character in separators and not closing:
            pieces.append(piece.cut(start, at))
            start = at + 1
    return [*pieces, piece.cut(start, len(piece.text))]


def find_label(piece: TextStretch) -> tuple[str, TextStretch]:
    """Return the number before a colon and a blank, and what follows it.

    >>> find_label(TextStretch("12: D5", 0)), find_label(TextStretch("5:4 above F4", 0))[0]
    (('12', TextStretch(text=' D5', position=3)), '')
    """
    label = _LABEL.match(piece.text)
    if not label:
        return "", piece
    return label[1], piece.cut(label.end(), len(piece.text))


def take_suffixes(piece: TextStretch) -> Suffixes:
    """Take length, fingering and words off a note; they may stand in any order behind it."""
    length, fingering, words, unclosed = "", "", [], ""
    body_end, at, text = len(piece.text), 0, piece.text
    while at < len(text):
        character = text[at]
        if character not in _CLOSING:
            at += 1
            continue
        body_end = min(body_end, at)
        end = text.find(_CLOSING[character], at + 1)
        if end < 0:
            unclosed = character
            break
        inner = " ".join(text[at + 1 : end].split())
        if character == "(":
            length = inner
        elif character == "[":
            fingering = inner
        elif inner:
            words.append(inner)
        at = end + 1
    body = piece.cut(0, body_end)
    return Suffixes(body, length, fingering, tuple(words), unclosed)
