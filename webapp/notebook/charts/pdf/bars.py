"""Sheet of a piece, bar by bar: a row a bar, only the notes that need thought.

Each note is a cell: its staff, the drawing of its fingering, a line of words. A fingering that
comes again on the same page is drawn where it stands first there, with a letter, and is the letter
alone after that; the letter is the same on every page. Lines are put on pages here, so that no bar
is torn that fits a page, and every letter has its drawing in sight. Cells are as wide as each other
and drawings as tall as each other, so that finger columns stand below each other.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from itertools import count as counting
from string import ascii_uppercase

from analysis.keywork import KeyStates, spell_out
from analysis.pitch import (
    STEIN_ZIMMERMANN,
    NoteNames,
    SignSystem,
    WrittenPitch,
    format_pitch,
    write_accidental,
)
from webapp.drawing import Profile, draw_fingering, draw_staff
from webapp.drawing.staff import find_view_box
from webapp.drawing.svg import ViewBox
from webapp.notebook.charts.pdf.feed import TYPST_PAPER, Fed, format_date
from webapp.notebook.charts.pdf.prose import clean_line, compose, prepare
from webapp.notebook.charts.pdf.rendering import typeset
from webapp.notebook.charts.pdf.spec import Paper

_TEMPLATE = "bars.typ"
_CELLS_A_LINE = 5
_WIDTH_WITHOUT_FIGURE = 90.0
# In millimetres: what `bars.typ` gives a line with a drawing or without, and the head.
LINE_MM, SHORT_LINE_MM, WORDS_MM, EMPTY_LINE_MM = 31.5, 20.0, 4.5, 8.0
_HEAD_MM, _MARGINS_MM = 21.0, 29.0
_HEIGHT_MM = {Paper.A4: 297.0, Paper.LETTER: 279.4}
_LONGEST_WORDS, _LONGEST_NAME, _LONGEST_TITLE = 90, 60, 120
LETTERS = "A letter stands for the fingering that is drawn with it on the same page."
NOTHING = "Every note of this part is an ordinary one: there is nothing to print."


@dataclass(frozen=True, slots=True)
class SheetNote:
    """A cell: a note, or a multiphonic, with its fingering (None where there is none).

    `words` stand below it; `mark` says what else it is ('tr', 'twice'); `is_certain` is off where
    nothing was measured.
    """

    pitches: tuple[WrittenPitch, ...]
    clef: str
    fingering: KeyStates | None = None
    words: str = ""
    mark: str = ""
    is_certain: bool = True


@dataclass(frozen=True, slots=True)
class SheetBar:
    """A bar with what needs thought in it; `words` are how to play it, as printed."""

    label: str
    notes: tuple[SheetNote, ...]
    words: str = ""


@dataclass(frozen=True, slots=True)
class SheetSpec:
    """A sheet: what stands at its head and foot, its writing and its bars."""

    title: str
    composer: str
    instruments: tuple[str, ...]
    bars: tuple[SheetBar, ...]
    as_of: date | None = None
    paper: Paper = Paper.A4
    accidental_style: SignSystem = STEIN_ZIMMERMANN
    names: NoteNames = NoteNames.ENGLISH


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of a page: cells of a bar, as many as fit; the first has the number of the bar."""

    bar: SheetBar
    notes: tuple[SheetNote, ...]
    is_first: bool

    @property
    def words(self) -> str:
        return self.bar.words if self.is_first else ""


def render_bars(spec: SheetSpec) -> bytes:
    """Make the PDF of a sheet, bar by bar."""
    letters = find_letters(note.fingering for bar in spec.bars for note in bar.notes)
    pages = list(_paginate(spec, letters))
    notes = [each for bar in spec.bars for each in bar.notes]
    box = _find_box(notes, spec.accidental_style)
    fed: Fed = {
        **feed_sheet_head(spec),
        "empty": NOTHING,
        "letters": LETTERS if letters else "",
        "pages": [
            [_feed_line(line, drawn, letters, spec, box) for line, drawn in page] for page in pages
        ],
        "line_mm": LINE_MM,
        "short_mm": SHORT_LINE_MM,
        "words_mm": WORDS_MM,
        "empty_mm": EMPTY_LINE_MM,
    }
    return typeset(_TEMPLATE, fed, spec.as_of)


def _find_box(notes: Sequence[SheetNote], style: SignSystem) -> ViewBox:
    """Find the view box of all staves: as tall as they need, and narrow where no figure stands."""
    x, y, width, height = find_view_box(
        (each, note.clef) for note in notes for each in note.pitches
    )
    has_figure = any(
        write_accidental(each, style).figure for note in notes for each in note.pitches
    )
    return (x, y, width if has_figure else _WIDTH_WITHOUT_FIGURE, height)


def feed_sheet_head(spec: SheetSpec) -> Fed:
    """Head and foot of every form of sheet."""
    title = clean_line(spec.title, longest=_LONGEST_TITLE) or "Sheet"
    names = ", ".join(clean_line(each, longest=_LONGEST_NAME) for each in spec.instruments)
    composer = clean_line(spec.composer, longest=_LONGEST_NAME)
    day = f"as of {format_date(spec.as_of)}" if spec.as_of else ""
    return {
        "paper": TYPST_PAPER[spec.paper],
        "title": title,
        "title_line": asdict(prepare(title)),
        "instrument": asdict(compose((composer, names), " · ")),
        "foot": asdict(compose((title, names, day), " · ")),
    }


def find_letters(fingerings: Iterator[KeyStates | None]) -> dict[KeyStates, str]:
    """Give a letter to each fingering that comes more than once, in the order they come."""
    counted = Counter(each for each in fingerings if each is not None)
    names = name_letters()
    return {each: next(names) for each, times in counted.items() if times > 1}


def name_letters() -> Iterator[str]:
    """A, B, ... Z, A2, B2, ..."""
    for around in counting(1):
        for letter in ascii_uppercase:
            yield letter if around == 1 else f"{letter}{around}"


def _paginate(
    spec: SheetSpec, letters: Mapping[KeyStates, str]
) -> Iterator[list[tuple[_Line, frozenset[int]]]]:
    """Put lines on pages; with each line the places of its cells that are drawn."""
    room = _HEIGHT_MM[spec.paper] - _MARGINS_MM
    left = room - _HEAD_MM
    page: list[tuple[_Line, frozenset[int]]] = []
    seen: set[KeyStates] = set()
    for lines in map(_cut_lines, spec.bars):
        drawn = _choose_drawn(lines, letters, seen)
        height = sum(map(_height, lines, drawn))
        if page and height > left:
            yield page
            page, seen, left = [], set(), room
            drawn = _choose_drawn(lines, letters, seen)
        for line, each in zip(lines, drawn, strict=True):
            if page and _height(line, each) > left:
                yield page
                page, left = [], room
            page.append((line, each))
            left -= _height(line, each)
        seen |= {note.fingering for line in lines for note in line.notes if note.fingering}
    if page:
        yield page


def _cut_lines(bar: SheetBar) -> list[_Line]:
    starts = range(0, len(bar.notes), _CELLS_A_LINE)
    return [
        _Line(bar, bar.notes[start : start + _CELLS_A_LINE], start == 0) for start in starts
    ] or [_Line(bar, (), is_first=True)]


def _choose_drawn(
    lines: Sequence[_Line], letters: Mapping[KeyStates, str], seen: set[KeyStates]
) -> list[frozenset[int]]:
    """Say which cells are drawn: those whose fingering does not stand on the page yet."""
    here = set(seen)
    chosen = []
    for line in lines:
        drawn = set()
        for place, note in enumerate(line.notes):
            if note.fingering is not None and note.fingering not in here:
                drawn.add(place)
                if note.fingering in letters:
                    here.add(note.fingering)
        chosen.append(frozenset(drawn))
    return chosen


def _height(line: _Line, drawn: frozenset[int]) -> float:
    if not line.notes:
        return EMPTY_LINE_MM
    return (LINE_MM if drawn else SHORT_LINE_MM) + (WORDS_MM if line.words else 0.0)


def _feed_line(
    line: _Line,
    drawn: frozenset[int],
    letters: Mapping[KeyStates, str],
    spec: SheetSpec,
    box: ViewBox,
) -> Fed:
    return {
        "label": clean_line(line.bar.label, longest=6) if line.is_first else "",
        "begins": line.is_first,
        "words": asdict(prepare(line.words, longest=_LONGEST_WORDS, most_lines=1)),
        "is_tall": bool(drawn),
        "cells": [
            _feed_cell(note, line.bar, place in drawn, letters, spec, box)
            for place, note in enumerate(line.notes)
        ],
    }


def _feed_cell(
    note: SheetNote,
    bar: SheetBar,
    is_drawn: bool,
    letters: Mapping[KeyStates, str],
    spec: SheetSpec,
    box: ViewBox,
) -> Fed:
    name = " and ".join(
        format_pitch(each.to_be_read(), names=spec.names, style="words") for each in note.pitches
    )
    letter = letters.get(note.fingering, "") if note.fingering is not None else ""
    return {
        "staffs": [
            {
                "svg": draw_staff(
                    each,
                    style=spec.accidental_style,
                    clef=note.clef,
                    names=spec.names,
                    view_box=box,
                ),
                "alt": f"Bar {bar.label}: "
                + format_pitch(each.to_be_read(), names=spec.names, style="words"),
            }
            for each in note.pitches[:2]
        ],
        "fingering": feed_keys(note.fingering, f"Bar {bar.label}, {name}", spec.names)
        if is_drawn and note.fingering is not None
        else None,
        "letter": letter,
        "words": clean_line(note.words, longest=30),
        "mark": note.mark,
        "is_certain": note.is_certain,
    }


def feed_keys(keys: KeyStates, where: str, names: NoteNames) -> Fed:
    """Draw keys at the size of a cell, with their words and where they stand."""
    svg = draw_fingering(keys, profile=Profile.SMALL, is_reduced=True, names=names, id_prefix="f")
    return {"svg": svg, "alt": f"{where}: {spell_out(keys)}"}
