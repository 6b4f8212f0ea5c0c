"""The concert as one file to print: the pages with their marks, the warm-up, every fingering."""

from itertools import groupby

from webapp.notebook.charts.pdf.over_pages import PrintedList, PrintedNote, render_over_pages
from webapp.notebook.concert.opening import ConcertView, open_concert
from webapp.notebook.concert.risks import RiskyNote
from webapp.notebook.own_pages.choosing import NOWHERE
from webapp.notebook.own_pages.exporting import OwnPagesFile, specify
from webapp.notebook.pieces.printing import last_day_of
from webapp.notebook.pieces.sheet import SheetPlace, choose_keys, read_keys_of, read_sheet_keys
from webapp.notebook.pieces.words import tell_bars
from webapp.notebook.store.notebook import Notebook

NOTHING_TO_WARM_UP = "Every note that needs thought is well known."
NOTHING_TO_THINK_OF = "Every note of this part is an ordinary one."


def print_concert(
    notebook: Notebook, piece_id: int, instrument_id: int | None = None
) -> OwnPagesFile:
    """Make the one file of a concert; unchanged, the same bytes.

    Raises:
        NotInNotebook: there is no such piece.
        FieldRefused: no instrument of it is left.
        ClipMissing: a file is gone.
        PaperError: a file cannot be set.
    """
    view = open_concert(notebook, piece_id, instrument_id)
    with notebook.database.reading() as session:
        as_of = last_day_of(session, view.own.piece, view.own.judgements)
    spec = specify(notebook, view.own, as_of, (_list_warm_up(view), _list_places(view)))
    return OwnPagesFile(render_over_pages(spec), f"concert-{as_of.isoformat()}.pdf")


def _list_warm_up(view: ConcertView) -> PrintedList:
    rows = tuple(_warm_up_row(each, view) for each in view.risks)
    return PrintedList("Warm up", "Why", rows, NOTHING_TO_WARM_UP)


def _warm_up_row(risky: RiskyNote, view: ConcertView) -> PrintedNote:
    todo, instrument = risky.todo, risky.instrument
    keys_text, words, is_certain = choose_keys(todo, NOWHERE)
    part = next(each.part for each, _ in view.own.judgements if each.instrument is instrument)
    return PrintedNote(
        pitches=(todo.need.written,),
        clef=instrument.kind.clef,
        fingering=read_keys_of(keys_text, instrument),
        words=words,
        is_certain=is_certain,
        remark=f"{', '.join(risky.reasons)}; {tell_bars(todo.need.bars, part)}",
    )


def _list_places(view: ConcertView) -> PrintedList:
    """Every note that needs thought with its fingering, once for each, with its bars."""

    def same(place: SheetPlace) -> tuple[object, ...]:
        return place.instrument.id, place.key[2], place.keys_text, place.words

    places = [place for _, here in view.bars for place in here]
    first = {same(each): at for at, each in reversed(list(enumerate(places)))}
    ordered = sorted(places, key=lambda each: first[same(each)])
    rows = []
    for _, group in groupby(ordered, key=same):
        every = list(group)
        place, labels = every[0], dict.fromkeys(each.bar_label for each in every)
        rows.append(
            PrintedNote(
                pitches=place.pitches,
                clef=place.instrument.kind.clef,
                fingering=read_sheet_keys(place),
                words=place.words,
                is_certain=place.is_certain,
                remark=("bar " if len(labels) == 1 else "bars ") + ", ".join(labels),
            )
        )
    return PrintedList("Notes that need thought", "Where", tuple(rows), NOTHING_TO_THINK_OF)
