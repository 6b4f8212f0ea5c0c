"""Pieces: list them, bring one in, see what is still to do, practise it."""

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.paper import PaperError
from analysis.score import ScoreError
from webapp.forms.entries import add_refusal
from webapp.forms.pieces import (
    DayListForm,
    HeadForm,
    PieceForm,
    PractisePieceForm,
    SettleForm,
    SourceForm,
)
from webapp.guards.uploads import read_score
from webapp.notebook.charts.pdf.legend import CAUTION
from webapp.notebook.instruments.instruments import list_instruments
from webapp.notebook.own_pages.files import start_from_pages
from webapp.notebook.pieces.day_lists import MINUTES, list_days
from webapp.notebook.pieces.importing import PieceDraft, add_piece, import_again
from webapp.notebook.pieces.originals import Source
from webapp.notebook.pieces.pieces import (
    HeadDraft,
    PieceHead,
    add_instrument_to,
    change_head,
    list_pieces,
    open_changes,
    open_head,
    open_piece,
)
from webapp.notebook.pieces.practising import ListOrder, practise_piece
from webapp.notebook.pieces.todo_table import write_todo_table
from webapp.notebook.store.clock import today
from webapp.notebook.store.errors import FieldRefused, Refused, StaleEdit, TooLarge
from webapp.notebook.store.fetching import read_row_number
from webapp.pages.own_pages import read_page_uploads
from webapp.presenting.masthead import find_at_hand
from webapp.presenting.notes import show_refusal
from webapp.presenting.words import current_notebook, current_writing, write_as

Answer = str | Response | tuple[str, int]
NO_SOURCE = "Choose a score file, type the notes, or open the printed part."
PAGES_AND_SOURCE = "Bring one of them now; pages can be added to the piece afterwards."
TWO_SOURCES = "Choose a file or type the notes; both were given."


def index() -> str:
    """List the pieces."""
    return render_template("pieces/index.html", pieces=list_pieces(current_notebook()))


def add() -> Answer:
    """Bring in a piece."""
    form = PieceForm()
    rows = [each.instrument for each in list_instruments(current_notebook())]
    form.instruments.choices = [(str(each.id), each.name) for each in rows]
    current = find_at_hand(None).current
    if not form.is_submitted() and current is not None:
        form.instruments.data = [str(current.id)]
    status = 200
    if form.is_submitted():
        status = 422
        if form.validate():
            try:
                address = _add(form)
            except FieldRefused as error:
                add_refusal(form, error)
            except PaperError as error:
                form.pages.errors = [str(error)]
            except (ScoreError, TooLarge) as error:
                status = _refuse_source(form, error)
            else:
                return redirect(address)
    in_use = next((each for each in rows if current and each.id == current.id), None)
    return render_template("pieces/new.html", form=form, in_use=in_use), status


def _add(form: PieceForm) -> str:
    """Keep a new piece; return where to go on."""
    uploads = read_page_uploads(form.pages.data or ())
    if not uploads:
        piece_id = add_piece(current_notebook(), _draft(form))
        return url_for("pieces.show", piece_id=piece_id)
    if read_score(form.score.data) is not None or (form.text.data or "").strip():
        raise FieldRefused("pages", PAGES_AND_SOURCE)
    piece_id = start_from_pages(
        current_notebook(),
        uploads,
        _chosen_instruments(form),
        form.title.data or "",
        form.composer.data or "",
    )
    return url_for("own_pages.show", piece_id=piece_id)


def _chosen_instruments(form: PieceForm) -> tuple[int, ...]:
    return tuple(read_row_number(each) for each in form.instruments.data or ())


def _draft(form: PieceForm) -> PieceDraft:
    return PieceDraft(
        _source(form),
        _chosen_instruments(form),
        form.title.data or "",
        form.composer.data or "",
    )


def _source(form: SourceForm) -> Source:
    upload = read_score(form.score.data)
    text = form.text.data or ""
    if upload is None and not text.strip():
        raise FieldRefused("text", NO_SOURCE)
    names = current_writing().names
    if upload is None:
        return Source(text=text, names=names)
    if text.strip():
        raise FieldRefused("score", TWO_SOURCES)
    number = form.part_number.data
    return Source(
        file=upload.stream, name=upload.filename or "", names=names, part_number=number or None
    )


def _refuse_source(form: SourceForm, error: ScoreError | TooLarge) -> int:
    """Put a refusal beside what was brought."""
    field = form.text if (form.text.data or "").strip() else form.score
    field.errors = [str(error)]
    return error.status if isinstance(error, TooLarge) else 422


def show(piece_id: int) -> Answer:
    """Show what is still to do for a piece."""
    return _show(piece_id)


def _show(piece_id: int, form: SettleForm | None = None, status: int = 200) -> Answer:
    wanted = request.args.get("instrument", type=int)
    try:
        page = open_piece(current_notebook(), piece_id, wanted)
    except FieldRefused as error:
        flash(show_refusal(error))
        return redirect(url_for("pieces.change", piece_id=piece_id))
    write_as(page.todo.writing)
    day_form = DayListForm(request.args)
    minutes = (day_form.minutes.data or MINUTES) if day_form.validate() else MINUTES
    days = list_days(page.todo.notes, today(), page.days_left or 0, minutes=minutes)
    return render_template(
        "pieces/show.html",
        page=page,
        instrument=page.instrument,
        form=form or SettleForm(),
        days=days,
        day_form=day_form,
        minutes=minutes,
        caution=CAUTION,
    ), status


def table(piece_id: int) -> Response:
    """Hand out what is still to do as a table."""
    page = open_piece(current_notebook(), piece_id, request.args.get("instrument", type=int))
    answer = Response(write_todo_table(page.todo), mimetype="text/csv")
    answer.headers["Content-Disposition"] = 'attachment; filename="still-to-do.csv"'
    return answer


def changes(piece_id: int) -> str:
    """Show what changed with the newest import."""
    return render_template("pieces/changes.html", page=open_changes(current_notebook(), piece_id))


def change(piece_id: int) -> Answer:
    """Change title, composer, day of the concert, instruments."""
    head = open_head(current_notebook(), piece_id)
    form = _head_form(head)
    if form.is_submitted():
        if form.validate():
            try:
                change_head(
                    current_notebook(),
                    piece_id,
                    HeadDraft(
                        form.title.data or "",
                        form.composer.data or "",
                        form.concert_on.data,
                        tuple(read_row_number(each) for each in form.instruments.data or ()),
                    ),
                    seen_version=read_row_number(form.version.data or ""),
                )
            except FieldRefused as error:
                add_refusal(form, error)
            except StaleEdit as error:
                form.form_errors.append(str(error))
                return _show_head(head, form), error.status
            else:
                return redirect(url_for("pieces.show", piece_id=piece_id))
        return _show_head(head, form), 422
    return _show_head(head, form)


def _head_form(head: PieceHead) -> HeadForm:
    form = HeadForm(
        title=head.piece.title,
        composer=head.piece.composer,
        concert_on=head.piece.concert_on,
        instruments=[str(each.id) for each in head.instruments],
        version=str(head.piece.version),
    )
    form.instruments.choices = [(str(each.id), each.name) for each in head.every_instrument]
    return form


def _show_head(head: PieceHead, form: HeadForm, source: SourceForm | None = None) -> str:
    source = source or SourceForm(formdata=None, text=head.text)
    in_use = next(iter(head.instruments), None)
    return render_template("pieces/change.html", head=head, form=form, source=source, in_use=in_use)


def bring_again(piece_id: int) -> Answer:
    """Bring a piece in again; answers and decisions stay."""
    form = SourceForm()
    status = 422
    if form.validate():
        try:
            if read_score(form.score.data) is not None:
                form.text.data = ""
            compared = import_again(current_notebook(), piece_id, _source(form))
        except FieldRefused as error:
            add_refusal(form, error)
        except (ScoreError, TooLarge) as error:
            status = _refuse_source(form, error)
        else:
            count = len(compared.changes)
            bars = "1 bar is" if count == 1 else f"{count} bars are"
            flash(f"{bars} not as before." if count else "Nothing has changed.")
            return redirect(
                url_for("pieces.changes" if count else "pieces.show", piece_id=piece_id)
            )
    head = open_head(current_notebook(), piece_id)
    return _show_head(head, _head_form(head), form), status


def take_instrument(piece_id: int, instrument_id: int) -> Response:
    """Take another instrument for a piece."""
    add_instrument_to(current_notebook(), piece_id, instrument_id)
    return redirect(url_for("pieces.show", piece_id=piece_id, instrument=instrument_id))


def practise(piece_id: int, instrument_id: int) -> Response:
    """Go to the stand with the open notes of a piece."""
    form = PractisePieceForm()
    if not form.validate():
        return redirect(url_for("pieces.show", piece_id=piece_id, instrument=instrument_id))
    order, minutes = ListOrder(form.order.data), form.minutes.data or MINUTES
    try:
        practice_id, count = practise_piece(
            current_notebook(), piece_id, instrument_id, order=order, minutes=minutes
        )
    except Refused as error:
        flash(show_refusal(error))
        return redirect(url_for("pieces.show", piece_id=piece_id, instrument=instrument_id))
    flash(f"Put on the list: {count}.")
    return redirect(url_for("stand.show", practice_id=practice_id))
