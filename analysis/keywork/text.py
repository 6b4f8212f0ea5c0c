"""Text form of a fingering: grammar, parser and writer of the line that is stored and printed.

The canonical form, always written by `format_fingering`::

    T R 123 | 12- | right E
    T (1)23 | 1-- | left F#, right E
    T R [1]23 | 1-- | G#/Eb
    R 123 | 123
    --- | --- | throat A

    fingering = left " | " right [ " | " extra { ", " extra } ]
    left      = { prefix " " } hole hole hole
    right     = hole hole hole
    hole      = digit | "(" digit ")" | "[" digit "]" | "-"
    prefix    = token | "(" token ")"
    extra     = token | "(" token ")"

A token alone is down, in parentheses shaded, in brackets vented (the plate is down and its small
hole open), absent (for a hole: a dash) up. Which keys are
prefixes, holes and extras, in which order and under which token, is said by the layout; another
layout may have more or fewer. Every set of key states has exactly one canonical text, and that
text reads back as exactly those states.

`parse_fingering` also accepts: small and capital letters alike, any spaces, music signs and long
dashes, "½" for a shaded hole in its place, parentheses or "½" for a vented plate, commas,
semicolons or plus signs in place of bars, missing dashes at the end of a hand or before a later
digit ("23" is "-23"), a missing right hand, the names of keys in full, the layout's aliases ("low
E"), the player's own names and a trailing "key", keys in any order. `typed_names` lists what a
layout understands; a layout is refused if one name could mean two keys, so that a word never has to
be guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from analysis.keywork.errors import UnreadableFingering
from analysis.keywork.key_names import fold, index_names, is_hand, plain
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Key, State
from analysis.keywork.layout import Layout, kept_with_layout

HALF = "½"
_WRITTEN = {State.UP: "", State.DOWN: "{}", State.SHADED: "({})", State.VENTED: "[{}]"}
_CHUNK = re.compile(r"([^|,;+]*)([|,;+]|$)")


def format_fingering(fingering: KeyStates) -> str:
    """Write a fingering in its canonical text form.

    Prefix letters, then the holes of the left hand, the right hand, and the other pressed keys in
    layout order. Returns text that `parse_fingering` reads back to an equal fingering.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> format_fingering(parse_fingering("t r 123, 12-, low e key", soprano))
    'T R 123 | 12- | right E'
    """
    layout = fingering.layout
    prefix = [_word(fingering, key) for key in layout.select(layout.text.prefix)]
    left = "".join(_cell(fingering, key) for key in layout.select(layout.text.left))
    right = "".join(_cell(fingering, key) for key in layout.select(layout.text.right))
    extras = ", ".join(filter(None, (_word(fingering, key) for key in layout.extras)))
    hands = [" ".join(filter(None, [*prefix, left])), right]
    return " | ".join([*hands, extras] if extras else hands)


def _word(fingering: KeyStates, key: Key) -> str:
    return _WRITTEN[fingering.state(key.id)].format(key.token)


def _cell(fingering: KeyStates, key: Key) -> str:
    return _word(fingering, key) or "-"


def parse_fingering(text: str, layout: Layout) -> KeyStates:
    """Read a typed or stored fingering.

    The text is cut at bars, commas, semicolons and plus signs; pieces made of prefix letters,
    digits and dashes are the left and then the right hand, all others are names of keys.
    `text` is any text, `layout` the keywork it is meant for. Returns the fingering; it need not be
    playable (see `find_conflicts`). Raises `UnreadableFingering`, whose `position` points
    at the first character that can't be read.

    >>> from analysis.keywork import load_layout
    >>> parse_fingering("T R 12x | 1--", load_layout("soprano-17-6"))
    Traceback (most recent call last):
    ...
    analysis.keywork.errors.UnreadableFingering: At character 7: 'x' can't stand in a hand. Known \
here: T, R, 1, 2, 3, -, (1).
    """
    reader = _Reader(text, layout)
    for chunk in _chunks(text):
        reader.take(chunk)
    return reader.finish()


@dataclass(frozen=True, slots=True)
class _Chunk:
    """A piece between two separators: its text, where it begins, and what ended it."""

    text: str
    start: int
    closer: str


def _chunks(text: str) -> Iterator[_Chunk]:
    written = plain(text)
    for match in _CHUNK.finditer(written):
        piece = match[1].strip()
        lead = len(match[1]) - len(match[1].lstrip())
        start = match.start() + (lead if piece else 0)
        yield _Chunk(piece, start, match[2])
        if not match[2]:
            return


@dataclass
class _Reader:
    """Collects key states piece by piece."""

    text: str
    layout: Layout
    states: dict[str, State] = field(default_factory=dict)
    hands_read: int = 0

    def take(self, chunk: _Chunk) -> None:
        """Read one piece as the next hand or as the name of a key."""
        if not chunk.text:
            self.hands_read += chunk.closer == "|"
        elif self._is_hand(chunk):
            self._take_hand(chunk)
        else:
            self._take_extra(chunk)

    def finish(self) -> KeyStates:
        """Make the fingering."""
        if not self.text.strip():
            raise self._error(0, "there is no fingering here; write one, such as T 123 | 1--")
        return KeyStates.of(self.layout, self.states)

    def _is_hand(self, chunk: _Chunk) -> bool:
        if is_hand(chunk.text, self.layout):
            return True
        # With bars the places are meant strictly, so that an error can point at one character.
        name = fold(chunk.text.strip("()[]"))
        return self.hands_read < 2 and "|" in self.text and name not in index_names(self.layout)

    def _take_hand(self, chunk: _Chunk) -> None:
        if self.hands_read >= 2:
            raise self._error(chunk.start, "both hands are already written", self._extra_tokens())
        has_holes = _Hand(self, chunk).read()
        self.hands_read += has_holes or chunk.closer == "|"

    def _take_extra(self, chunk: _Chunk) -> None:
        name = chunk.text
        enclosed_by = name[0] + name[-1]
        is_partly = enclosed_by in {"()", "[]"}
        key = index_names(self.layout).get(fold(name[1:-1] if is_partly else name))
        if key is None:
            raise self._unknown_key(chunk)
        state = State.VENTED if enclosed_by == "[]" else _partly(key)
        self.set(key, state if is_partly else State.DOWN, chunk.start)

    def _unknown_key(self, chunk: _Chunk) -> UnreadableFingering:
        tokens = self._extra_tokens()
        typed = self.text[chunk.start : chunk.start + len(chunk.text)]
        near = get_close_matches(fold(chunk.text), [fold(token) for token in tokens], n=1)
        problem = f"{typed!r} is no key of {self.layout.name}."
        if near:
            meant = next(token for token in tokens if fold(token) == near[0])
            problem += f" Did you mean {meant!r}?"
        return self._error(chunk.start, problem, tokens)

    def _extra_tokens(self) -> tuple[str, ...]:
        return tuple(key.token for key in self.layout.extras)

    def set(self, key: Key, state: State, position: int) -> None:
        """Note the state of a key that is named at `position`."""
        if key.id in self.states:
            raise self._error(position, f"the {key.name} is already named; name it once.")
        if state not in key.states:
            allowed = " or ".join(key.states)
            raise self._error(position, f"the {key.name} can't be {state}; it can be {allowed}.")
        self.states[key.id] = state

    def _error(
        self, position: int, problem: str, known: tuple[str, ...] = ()
    ) -> UnreadableFingering:
        return UnreadableFingering(self.text, position, problem, known=known)

    def hand_error(self, position: int, holes: tuple[Key, ...]) -> UnreadableFingering:
        """Make the error for a character that can't stand where it does in a hand."""
        prefix = self.layout.select(self.layout.text.prefix) if self.hands_read == 0 else ()
        tokens = [key.token for key in (*prefix, *holes)]
        known = (*tokens, "-", f"({holes[0].token})")
        return self._error(position, f"{self.text[position]!r} can't stand in a hand.", known)


def _partly(key: Key) -> State:
    """Find what parentheses mean: on a vented plate there is nothing else to shade."""
    return key.partial or State.SHADED


@dataclass(frozen=True, slots=True)
class _HandForm:
    """Text form of one hand of a layout: its holes, its keys by token, and the pattern."""

    holes: tuple[Key, ...]
    keys: Mapping[str, Key]
    pattern: re.Pattern[str]


@kept_with_layout
def _forms_of_hands(layout: Layout) -> tuple[_HandForm, _HandForm]:
    """Return the forms of the left hand, which the prefix letters belong to, and of the right."""
    prefix, places = layout.select(layout.text.prefix), layout.text
    return (
        _form_of_hand(prefix, layout.select(places.left)),
        _form_of_hand((), layout.select(places.right)),
    )


def _form_of_hand(prefix: tuple[Key, ...], holes: tuple[Key, ...]) -> _HandForm:
    keys = {key.token.casefold(): key for key in (*prefix, *holes)}
    # The longest token first, or a token that begins another would hide it.
    tokens = "|".join(map(re.escape, sorted(keys, key=len, reverse=True)))
    pattern = re.compile(
        rf"\s+|(?P<gap>[-{HALF}])|(?P<down>{tokens})|\(\s*(?P<partly>{tokens})\s*\)"
        rf"|\[\s*(?P<vented>{tokens})\s*\]",
        re.IGNORECASE,
    )
    return _HandForm(holes, keys, pattern)


class _Hand:
    """Reads the prefix letters and holes of one hand from left to right."""

    def __init__(self, reader: _Reader, chunk: _Chunk) -> None:
        self._reader = reader
        self._chunk = chunk
        self._next_hole = 0
        form = _forms_of_hands(reader.layout)[reader.hands_read]
        self._holes, self._keys, self._pattern = form.holes, form.keys, form.pattern

    def read(self) -> bool:
        """Read the whole piece; returns whether it named any hole or dash."""
        pattern, place = self._pattern, 0
        while place < len(self._chunk.text):
            match = pattern.match(self._chunk.text, place)
            if match is None:
                raise self._error(place)
            self._take(match)
            place = match.end()
        return self._next_hole > 0

    def _take(self, match: re.Match[str]) -> None:
        token = match["down"] or match["partly"] or match["vented"]
        if match["gap"]:
            self._pass_hole(match)
        elif token:
            key = self._keys[token.casefold()]
            self._move_to(key, match.start())
            state = State.VENTED if match["vented"] else State.DOWN
            if match["partly"]:
                state = _partly(key)
            self._reader.set(key, state, self._chunk.start + match.start())

    def _pass_hole(self, match: re.Match[str]) -> None:
        if self._next_hole >= len(self._holes):
            raise self._error(match.start())
        if match["gap"] == HALF:
            hole = self._holes[self._next_hole]
            self._reader.set(hole, _partly(hole), self._chunk.start + match.start())
        self._next_hole += 1

    def _move_to(self, key: Key, place: int) -> None:
        """Go on behind this hole; holes go from left to right, and letters stand before them."""
        hole = self._holes.index(key) if key in self._holes else -1
        if hole < self._next_hole and (hole >= 0 or self._next_hole > 0):
            raise self._error(place)
        self._next_hole = max(self._next_hole, hole + 1)

    def _error(self, place: int) -> UnreadableFingering:
        return self._reader.hand_error(self._chunk.start + place, self._holes)
