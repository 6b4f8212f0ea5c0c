"""Own pages as PDF: the pages of a part as they are, what is played above, lists of notes.

The pages come out of a file that nobody vouches for, so all of it is set in a child process
(`analysis.paper`). A PDF that holds pages of another is tagged, but claims no PDF/UA; the list of
marks at its end says in tagged text what stands on the pages.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path

from analysis.keywork import KeyStates, spell_out
from analysis.paper import PaperKind, set_above
from analysis.pitch import (
    STEIN_ZIMMERMANN,
    NoteNames,
    SignSystem,
    WrittenPitch,
    format_pitch,
)
from webapp.drawing import Profile, draw_fingering, draw_staff
from webapp.notebook.charts.pdf.feed import Fed, format_date
from webapp.notebook.charts.pdf.fonts import FAMILIES, shipped_folder
from webapp.notebook.charts.pdf.prose import clean_line, compose, prepare

_FOLDER = Path(__file__).parent
_TEMPLATES = ("over_pages.typ", "sheet.typ")
_LONGEST_TITLE, _LONGEST_NAME = 120, 60
_LETTER_WIDTH_MM = 215.9
_NEAR_MM = 3.0
COLUMNS = ("Note", "Fingering", "In words", "Letter")


@dataclass(frozen=True, slots=True)
class PrintedNote:
    """A note with what is played for it (None where it is open), and where or why: `remark`."""

    pitches: tuple[WrittenPitch, ...]
    clef: str
    fingering: KeyStates | None
    words: str
    is_certain: bool
    letter: str = ""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class PageMarkSpec:
    """A mark: its note, and where its foot stands, in mm from the left and the top.

    `is_drawn` is off where the letter stands for the fingering.
    """

    x_mm: float
    y_mm: float
    bar_label: str
    note: PrintedNote
    is_drawn: bool


@dataclass(frozen=True, slots=True)
class PrintedList:
    """A list of notes, with its heading, what its last column tells, and what to say of none."""

    heading: str
    remarks: str
    rows: tuple[PrintedNote, ...]
    empty: str


@dataclass(frozen=True, slots=True)
class OverPage:
    """A page of a file, `page` counting from 1, with its size and its marks."""

    path: Path
    kind: PaperKind
    page: int
    width_mm: float
    height_mm: float
    marks: tuple[PageMarkSpec, ...]


@dataclass(frozen=True, slots=True)
class OverPagesSpec:
    """A part with what is played on it, and lists; sizes of drawings and letters are in mm."""

    title: str
    composer: str
    instruments: tuple[str, ...]
    pages: tuple[OverPage, ...]
    lists: tuple[PrintedList, ...]
    as_of: date
    drawing_mm: float
    letter_mm: float
    accidental_style: SignSystem = STEIN_ZIMMERMANN
    names: NoteNames = NoteNames.ENGLISH


def render_over_pages(spec: OverPagesSpec) -> bytes:
    """Make the PDF; the same specification gives the same bytes.

    Raises:
        PaperError: one of the files cannot be set.
    """
    sources = {
        path: (path, kind, f"source-{number}.{kind.value}")
        for number, (path, kind) in enumerate({(each.path, each.kind): 0 for each in spec.pages})
    }
    with tempfile.TemporaryDirectory(prefix="quartervent-pages-") as folder:
        for name in _TEMPLATES:
            Path(folder, name).write_bytes((_FOLDER / name).read_bytes())
        return set_above(
            list(sources.values()),
            folder=Path(folder),
            template=_TEMPLATES[0],
            fonts=shipped_folder(),
            fed=_feed(spec, {path: name for path, (_, _, name) in sources.items()}),
            moment_s=int(datetime.combine(spec.as_of, time(), UTC).timestamp()),
        )


def _feed(spec: OverPagesSpec, names: Mapping[Path, str]) -> Fed:
    title = clean_line(spec.title, longest=_LONGEST_TITLE) or "My pages"
    instruments = ", ".join(clean_line(each, longest=_LONGEST_NAME) for each in spec.instruments)
    composer = clean_line(spec.composer, longest=_LONGEST_NAME)
    is_letter = any(abs(each.width_mm - _LETTER_WIDTH_MM) < _NEAR_MM for each in spec.pages[:1])
    day = f"as of {format_date(spec.as_of)}"
    return {
        "families": FAMILIES,
        "has_boxes": False,
        "paper": "us-letter" if is_letter else "a4",
        "title": title,
        "title_line": asdict(prepare(title)),
        "instrument": asdict(compose((composer, instruments), " · ")),
        "foot": asdict(compose((title, instruments, day), " · ")),
        "letter": spec.letter_mm,
        "pages": [
            {
                "file": names[each.path],
                "page": each.page if each.kind is PaperKind.PDF else 0,
                "width": each.width_mm,
                "height": each.height_mm,
                "alt": f"Page {number} of the part",
                "marks": [_feed_mark(mark, spec) for mark in each.marks],
            }
            for number, each in enumerate(spec.pages, start=1)
        ],
        "lists": [
            {
                "heading": each.heading,
                "columns": [*COLUMNS, each.remarks],
                "empty": each.empty,
                "rows": [_feed_row(row, spec) for row in each.rows],
            }
            for each in spec.lists
        ],
    }


def _feed_mark(mark: PageMarkSpec, spec: OverPagesSpec) -> Fed:
    keys = mark.note.fingering
    height, width, drawing = spec.letter_mm, spec.letter_mm, None
    if mark.is_drawn and keys is not None:
        _, _, across, tall = keys.layout.view_box
        height, width = spec.drawing_mm, spec.drawing_mm * across / tall
        drawing = _draw(keys, f"Bar {mark.bar_label}, {_name(mark.note, spec)}", spec)
    return {
        "x": mark.x_mm,
        "y": mark.y_mm,
        "width": width,
        "height": height,
        "drawing": drawing,
        "letter": mark.note.letter or ("" if drawing else "?"),
    }


def _draw(keys: KeyStates, where: str, spec: OverPagesSpec) -> Fed:
    svg = draw_fingering(
        keys, profile=Profile.SMALL, is_reduced=True, names=spec.names, id_prefix="f"
    )
    return {"svg": svg, "alt": f"{where}: {spell_out(keys)}"}


def _name(note: PrintedNote, spec: OverPagesSpec) -> str:
    return " and ".join(
        format_pitch(each.to_be_read(), names=spec.names, style="words") for each in note.pitches
    )


def _feed_row(note: PrintedNote, spec: OverPagesSpec) -> Fed:
    name, keys = _name(note, spec), note.fingering
    return {
        "staffs": [
            {
                "svg": draw_staff(
                    each, style=spec.accidental_style, clef=note.clef, names=spec.names
                ),
                "alt": format_pitch(each.to_be_read(), names=spec.names, style="words"),
            }
            for each in note.pitches
        ],
        "note": name,
        "drawing": None if keys is None else _draw(keys, name, spec),
        "keys": "" if keys is None else spell_out(keys),
        "words": clean_line(note.words, longest=40),
        "is_certain": note.is_certain,
        "letter": note.letter,
        "remark": clean_line(note.remark, longest=200),
    }
