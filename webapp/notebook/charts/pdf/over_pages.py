"""Own pages as PDF: the pages of a part as they are, what is played above, the list of marks.

The pages come out of a file that nobody vouches for, so all of it is set in a child process
(`analysis.paper`). A PDF that holds pages of another is tagged, but claims no PDF/UA; the list of
marks at its end says in tagged text what stands on the pages.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
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
COLUMNS = ("Note", "Fingering", "In words", "Letter", "Where")
NOTHING = "Nothing is marked yet."


@dataclass(frozen=True, slots=True)
class PageMarkSpec:
    """A mark: what stands there, and where its foot stands, in mm from the left and the top.

    `fingering` is None where the note is open; `is_drawn` is off where the letter stands for it.
    """

    x_mm: float
    y_mm: float
    pitches: tuple[WrittenPitch, ...]
    clef: str
    bar_label: str
    fingering: KeyStates | None
    words: str
    is_certain: bool
    letter: str
    is_drawn: bool


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
    """A part with what is played on it; sizes of drawings and letters are in mm."""

    title: str
    composer: str
    instruments: tuple[str, ...]
    pages: tuple[OverPage, ...]
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
    is_letter = abs(spec.pages[0].width_mm - _LETTER_WIDTH_MM) < _NEAR_MM
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
        "columns": COLUMNS,
        "empty": NOTHING,
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
        "rows": _feed_rows(spec),
    }


def _feed_mark(mark: PageMarkSpec, spec: OverPagesSpec) -> Fed:
    is_drawn = mark.is_drawn and mark.fingering is not None
    height, width = spec.letter_mm, spec.letter_mm
    if is_drawn and mark.fingering is not None:
        _, _, across, tall = mark.fingering.layout.view_box
        height, width = spec.drawing_mm, spec.drawing_mm * across / tall
    return {
        "x": mark.x_mm,
        "y": mark.y_mm,
        "width": width,
        "height": height,
        "drawing": _draw(mark, spec) if is_drawn else None,
        "letter": mark.letter or ("" if is_drawn else "?"),
    }


def _draw(mark: PageMarkSpec, spec: OverPagesSpec) -> Fed | None:
    if mark.fingering is None:
        return None
    svg = draw_fingering(
        mark.fingering, profile=Profile.SMALL, is_reduced=True, names=spec.names, id_prefix="f"
    )
    said = f"Bar {mark.bar_label}, {_name(mark, spec)}: {spell_out(mark.fingering)}"
    return {"svg": svg, "alt": said}


def _name(mark: PageMarkSpec, spec: OverPagesSpec) -> str:
    return " and ".join(
        format_pitch(each.to_be_read(), names=spec.names, style="words") for each in mark.pitches
    )


def _feed_rows(spec: OverPagesSpec) -> list[Fed]:
    """A row for each note with a fingering, in the order of the part, with all its places."""
    grouped: dict[tuple[object, ...], list[tuple[int, PageMarkSpec]]] = {}
    for number, page in enumerate(spec.pages, start=1):
        for mark in page.marks:
            key = (mark.pitches, mark.clef, mark.fingering, mark.words)
            grouped.setdefault(key, []).append((number, mark))
    return [_feed_row(places, spec) for places in grouped.values()]


def _feed_row(places: Sequence[tuple[int, PageMarkSpec]], spec: OverPagesSpec) -> Fed:
    mark = places[0][1]
    by_page: dict[int, list[str]] = {}
    for number, each in places:
        by_page.setdefault(number, []).append(clean_line(each.bar_label, longest=20))
    return {
        "staffs": [
            {
                "svg": draw_staff(
                    each, style=spec.accidental_style, clef=mark.clef, names=spec.names
                ),
                "alt": format_pitch(each.to_be_read(), names=spec.names, style="words"),
            }
            for each in mark.pitches
        ],
        "note": _name(mark, spec),
        "drawing": _draw(mark, spec),
        "keys": "" if mark.fingering is None else spell_out(mark.fingering),
        "words": clean_line(mark.words, longest=40),
        "is_certain": mark.is_certain,
        "letter": mark.letter,
        "places": "; ".join(
            f"page {number}, {'bar' if len(set(bars)) == 1 else 'bars'} "
            + ", ".join(dict.fromkeys(bars))
            for number, bars in by_page.items()
        ),
    }
