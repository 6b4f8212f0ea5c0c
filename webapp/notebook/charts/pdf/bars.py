"""Sheet of a piece, bar by bar: a row a bar, only the notes that need thought.

It is read from a music stand. At 1.2 m a figure of 3.5 mm is seen under 10 minutes of arc (closed
formula: 1200 mm times the tangent of 10/60 degrees), twice as large as the smallest letter that
normal sight reads (5 minutes, by the definition of normal acuity, from memory); figures and words
are set in that size. Staves are 7.2 mm tall, as in parts (7 to 8 mm: common practice).

Each note is a cell: its staff, the drawing of its fingering, a line of words. A fingering that
comes again on the same page is drawn where it stands first there, with a letter, and is the letter
alone after that; the letter is the same on every page. Lines are put on pages here, so that no bar
is torn that fits a page, and every letter has its drawing in sight. Cells are as wide as each other
and drawings as tall as each other, so that finger columns stand below each other. A line is as tall
as its notes need.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from itertools import compress
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
from webapp.drawing.staff import WIDTH_WITHOUT_FIGURE, find_middle_y, find_view_box
from webapp.drawing.svg import ViewBox
from webapp.notebook.charts.pdf.feed import TYPST_PAPER, Fed, format_date
from webapp.notebook.charts.pdf.prose import clean_line, compose, prepare
from webapp.notebook.charts.pdf.rendering import typeset
from webapp.notebook.charts.pdf.spec import Paper

_TEMPLATE = "bars.typ"
_CELLS_A_LINE = 4
# In millimetres, as `bars.typ` sets them: a unit of a staff, a drawing, a line of words or figures,
# what is left free between two lines, and the head of the first page.
_STAFF_UNIT_MM, _DRAWING_MM, WORDS_MM, _FREE_MM, _EMPTY_LINE_MM = 0.18, 30.0, 6.2, 3.0, 9.0
_HEAD_MM, _MARGINS_MM = 24.0, 29.0
_MOST_BESIDE = 9  # letters of words that fit below a staff, beside the drawing
_HEIGHT_MM = {Paper.A4: 297.0, Paper.LETTER: 279.4}
_MOST_STAVES = 2  # of a multiphonic
_LONGEST_WORDS, _LONGEST_NAME, _LONGEST_TITLE = 90, 60, 120
LETTERS = "A letter stands for the fingering that is drawn with it on the same page."
FIGURES = "A bold figure: by how many cents the fingering is off, + sharp, − flat."
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

    def has_heads(self, style: SignSystem) -> bool:
        """Whether something stands above one of its staves."""
        return any(note.mark or _find_figures(note, style) for note in self.notes)

    @property
    def box(self) -> ViewBox:
        """The view box of its staves: as tall as its notes need."""
        x, y, _, height = find_view_box(
            (each, note.clef) for note in self.notes for each in note.pitches
        )
        return x, y, WIDTH_WITHOUT_FIGURE, height

    def find_height_mm(self, style: SignSystem, *, is_drawn: bool) -> float:
        """Find how tall it is, words above it included."""
        above = WORDS_MM if self.words else 0.0
        if not self.notes:
            return max(_EMPTY_LINE_MM, above + _FREE_MM)
        most = max(len(note.pitches[:_MOST_STAVES]) for note in self.notes)
        staff = most * self.box[3] * _STAFF_UNIT_MM + WORDS_MM
        if self.has_heads(style):
            staff += WORDS_MM
        drawing = _DRAWING_MM if is_drawn else 0.0
        if any(len(note.words) > _MOST_BESIDE for note in self.notes):
            drawing += WORDS_MM
        return above + max(staff, drawing) + _FREE_MM


def render_bars(spec: SheetSpec) -> bytes:
    """Make the PDF of a sheet, bar by bar."""
    notes = [each for bar in spec.bars for each in bar.notes]
    letters = find_letters(each.fingering for each in notes)
    pages = list(_paginate(spec, letters))
    fed: Fed = {
        **feed_sheet_head(spec),
        "empty": NOTHING,
        "key": tell_key(bool(letters), any(each.is_certain for each in notes)),
        "pages": [
            [_feed_line(line, drawn, letters, spec) for line, drawn in page] for page in pages
        ],
        "staff_width_mm": WIDTH_WITHOUT_FIGURE * _STAFF_UNIT_MM,
        "drawing_mm": _DRAWING_MM,
        "words_mm": WORDS_MM,
        "free_mm": _FREE_MM,
        "cells": _CELLS_A_LINE,
    }
    return typeset(_TEMPLATE, fed, spec.as_of)


def tell_key(has_letters: bool, has_figures: bool) -> str:
    """Say what letters and figures of a sheet mean, as far as there are any."""
    return " ".join(compress((LETTERS, FIGURES), (has_letters, has_figures)))


def _find_top(note: SheetNote) -> float:
    """Find where in the view box of its first staff a note and its clef end above."""
    return find_view_box([(note.pitches[0], note.clef)])[1]


def _find_figures(note: SheetNote, style: SignSystem) -> str:
    """Find the cents that the signs of a note leave out, '' for none."""
    figures = (write_accidental(each, style).figure for each in note.pitches)
    return " ".join(filter(None, figures))


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
        height = sum(_height(*each, spec) for each in zip(lines, drawn, strict=True))
        if page and height > left:
            yield page
            page, seen, left = [], set(), room
            drawn = _choose_drawn(lines, letters, seen)
        for line, each in zip(lines, drawn, strict=True):
            if page and _height(line, each, spec) > left:
                yield page
                page, left = [], room
            page.append((line, each))
            left -= _height(line, each, spec)
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


def _height(line: _Line, drawn: frozenset[int], spec: SheetSpec) -> float:
    return line.find_height_mm(spec.accidental_style, is_drawn=bool(drawn))


def _feed_line(
    line: _Line, drawn: frozenset[int], letters: Mapping[KeyStates, str], spec: SheetSpec
) -> Fed:
    return {
        "label": clean_line(line.bar.label, longest=6) if line.is_first else "",
        "begins": line.is_first,
        "words": asdict(prepare(line.words, longest=_LONGEST_WORDS, most_lines=1)),
        "height_mm": _height(line, drawn, spec),
        "head_mm": WORDS_MM if line.has_heads(spec.accidental_style) else 0.0,
        "middle_mm": (find_middle_y() - line.box[1]) * _STAFF_UNIT_MM,
        "cells": [
            _feed_cell(note, line, letters, spec, is_drawn=place in drawn)
            for place, note in enumerate(line.notes)
        ],
    }


def _feed_cell(
    note: SheetNote,
    line: _Line,
    letters: Mapping[KeyStates, str],
    spec: SheetSpec,
    *,
    is_drawn: bool,
) -> Fed:
    bar = line.bar
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
                    view_box=line.box,
                    has_figure=False,
                ),
                "alt": f"Bar {bar.label}: "
                + format_pitch(each.to_be_read(), names=spec.names, style="words"),
            }
            for each in note.pitches[:_MOST_STAVES]
        ],
        "fingering": feed_keys(note.fingering, f"Bar {bar.label}, {name}", spec.names)
        if is_drawn and note.fingering is not None
        else None,
        "letter": letter,
        "words": clean_line(note.words, longest=30),
        "head_down_mm": (_find_top(note) - line.box[1]) * _STAFF_UNIT_MM,
        "head": " ".join(filter(None, (note.mark, _find_figures(note, spec.accidental_style)))),
        "is_certain": note.is_certain,
    }


def feed_keys(keys: KeyStates, where: str, names: NoteNames) -> Fed:
    """Draw keys at the size of a cell, with their words and where they stand."""
    svg = draw_fingering(keys, profile=Profile.SMALL, is_reduced=True, names=names, id_prefix="f")
    return {"svg": svg, "alt": f"{where}: {spell_out(keys)}"}
