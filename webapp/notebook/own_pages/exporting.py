"""Own pages as PDF: the original below, true to size, what is played above, and the list of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from analysis.paper import PaperKind
from webapp.notebook.charts.pdf.over_pages import (
    OverPage,
    OverPagesSpec,
    PageMarkSpec,
    PrintedList,
    PrintedNote,
    render_over_pages,
)
from webapp.notebook.own_pages.choosing import ShownMark
from webapp.notebook.own_pages.marks import DRAWING_MM, LETTER_MM
from webapp.notebook.own_pages.opening import OwnPagesView, ShownPage, load_own_pages
from webapp.notebook.pieces.printing import last_day_of
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Piece


@dataclass(frozen=True, slots=True)
class OwnPagesFile:
    """Own pages as PDF, with a name for the file."""

    content: bytes
    file_name: str


def export_own_pages(
    notebook: Notebook, piece_id: int, instrument_id: int | None = None
) -> OwnPagesFile | None:
    """Make the PDF of own pages; None where the piece has none. Unchanged, the same bytes.

    Raises:
        NotInNotebook: there is no such piece.
        FieldRefused: no instrument of it is left.
        ClipMissing: a file is gone.
        PaperError: a file cannot be set.
    """
    with notebook.database.reading() as session:
        view = load_own_pages(session, notebook, fetch(session, Piece, piece_id), instrument_id)
        if not view.pages:
            return None
        as_of = last_day_of(session, view.piece, view.judgements)
    spec = specify(notebook, view, as_of, (list_marks(view),))
    return OwnPagesFile(render_over_pages(spec), f"my-pages-{as_of.isoformat()}.pdf")


def specify(
    notebook: Notebook, view: OwnPagesView, as_of: date, lists: tuple[PrintedList, ...]
) -> OverPagesSpec:
    """Say what the PDF of own pages consists of, with some lists at its end."""
    return OverPagesSpec(
        title=view.piece.title,
        composer=view.piece.composer,
        instruments=_name_instruments(view),
        pages=tuple(_page_of(notebook, each) for each in view.pages),
        lists=lists,
        as_of=as_of,
        drawing_mm=DRAWING_MM,
        letter_mm=LETTER_MM,
        accidental_style=view.writing.accidentals,
        names=view.writing.names,
    )


def list_marks(view: OwnPagesView) -> PrintedList:
    """List what is marked: each note with a fingering once, in the order of the part."""
    grouped: dict[tuple[object, ...], list[tuple[int, ShownMark]]] = {}
    for page in view.pages:
        for each in page.marks:
            key = (each.mark.pitches, each.instrument.id, each.keys_text, each.words)
            grouped.setdefault(key, []).append((page.number, each))
    rows = tuple(
        replace(_note_of(places[0][1]), remark=_tell_places(places)) for places in grouped.values()
    )
    return PrintedList("Marks on the pages", "Where", rows, "Nothing is marked yet.")


def _tell_places(places: Sequence[tuple[int, ShownMark]]) -> str:
    by_page: dict[int, list[str]] = {}
    for number, each in places:
        by_page.setdefault(number, []).append(each.mark.bar_label)
    return "; ".join(
        f"page {number}, {'bar' if len(set(bars)) == 1 else 'bars'} "
        + ", ".join(dict.fromkeys(bars))
        for number, bars in by_page.items()
    )


def _name_instruments(view: OwnPagesView) -> tuple[str, ...]:
    """Name the instruments whose fingerings are shown; the first where nothing is marked."""
    names = dict.fromkeys(each.instrument.name for each in view.marks)
    return tuple(names) or (view.instruments[0].name,)


def _page_of(notebook: Notebook, page: ShownPage) -> OverPage:
    return OverPage(
        path=notebook.clips.find(page.file.clip_name),
        kind=PaperKind(page.file.kind),
        page=page.index + 1,
        width_mm=page.size.width_mm,
        height_mm=page.size.height_mm,
        marks=tuple(map(_mark_of, page.marks)),
    )


def _mark_of(shown: ShownMark) -> PageMarkSpec:
    mark = shown.mark
    return PageMarkSpec(mark.x_mm, mark.y_mm, mark.bar_label, _note_of(shown), shown.is_drawn)


def _note_of(shown: ShownMark) -> PrintedNote:
    return PrintedNote(
        pitches=shown.mark.written,
        clef=shown.instrument.kind.clef,
        fingering=shown.keys,
        words=shown.words,
        is_certain=shown.is_certain,
        letter=shown.letter,
    )
