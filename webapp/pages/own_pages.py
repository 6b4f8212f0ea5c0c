"""Own pages of a piece: open the part, mark its notes, print it with the fingerings on it."""

from collections.abc import Iterable
from dataclasses import dataclass

from flask import Response, flash, redirect, render_template, request, url_for
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response as AnyResponse

from analysis.paper import PaperError
from webapp.forms.entries import PressForm, add_refusal
from webapp.forms.own_pages import ChangedMarkForm, MarkedNoteForm, PagesForm
from webapp.guards.uploads import read_pages
from webapp.notebook.own_pages.exporting import export_own_pages
from webapp.notebook.own_pages.files import PageUpload, add_pages, draw_one_page, remove_file
from webapp.notebook.own_pages.marks import (
    MarkDraft,
    Spot,
    add_mark,
    change_mark,
    move_mark,
    remove_mark,
    say_seen,
)
from webapp.notebook.own_pages.opening import OwnPagesView, ShownPage, open_own_pages
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused, TooLarge
from webapp.notebook.store.fetching import read_row_number
from webapp.notebook.store.rows import MarkForm
from webapp.presenting.words import current_notebook, pitch_words, write_as

Answer = str | AnyResponse | tuple[str, int]
NO_PLACE = "Touch the page where the note is, or give its place in mm."
_NOWHERE = -1.0


@dataclass(frozen=True, slots=True)
class RefusedForms:
    """Forms that come back with what was typed: for a new mark, one that is there, files."""

    new: MarkedNoteForm | None = None
    changed: ChangedMarkForm | None = None
    mark_id: int = 0
    pages: PagesForm | None = None


def show(piece_id: int) -> Answer:
    """Show a page of the part with its marks."""
    return _show(piece_id, request.args.get("page", default=1, type=int))


def _show(
    piece_id: int, number: int, refusal: RefusedForms | None = None, status: int = 200
) -> Answer:
    wanted = request.args.get("instrument", type=int)
    try:
        view = open_own_pages(current_notebook(), piece_id, wanted)
    except FieldRefused as error:
        flash(str(error))
        return redirect(url_for("pieces.change", piece_id=piece_id))
    write_as(view.writing)
    refusal = refusal or RefusedForms()
    page = view.pages[min(max(number, 1), len(view.pages)) - 1] if view.pages else None
    forms = (
        {} if page is None else {each.mark.id: _form_of(each.mark.id, page) for each in page.marks}
    )
    if refusal.changed is not None:
        forms[refusal.mark_id] = refusal.changed
    return render_template(
        "own_pages/show.html",
        view=view,
        page=page,
        instrument=view.instruments[0],
        form=refusal.new or (_new_form(view, page) if page else None),
        forms=forms,
        refused_mark=refusal.mark_id,
        pages_form=refusal.pages or PagesForm(formdata=None),
    ), status


def _new_form(view: OwnPagesView, page: ShownPage) -> MarkedNoteForm:
    return MarkedNoteForm(
        formdata=None, file=str(page.file.id), page=str(page.index), bar=view.last_bar
    )


def _form_of(mark_id: int, page: ShownPage) -> ChangedMarkForm:
    mark = next(each.mark for each in page.marks if each.mark.id == mark_id)
    return ChangedMarkForm(
        formdata=None,
        prefix=f"mark-{mark_id}-",
        file=str(page.file.id),
        page=str(page.index),
        notes=" & ".join(pitch_words(each) for each in mark.written),
        bar=mark.bar_label,
        x_mm=f"{mark.x_mm:g}",
        y_mm=f"{mark.y_mm:g}",
        form=mark.form,
    )


def picture(piece_id: int, file_id: int, page: int) -> Response:
    """Hand out a page as a picture."""
    drawing = draw_one_page(current_notebook(), piece_id, file_id, page)
    return Response(drawing.content, mimetype=drawing.media_type)


def add(piece_id: int) -> Answer:
    """Keep files with pages of the part."""
    form = PagesForm()
    status = 422
    try:
        uploads = read_page_uploads(form.pages.data or ())
        count = add_pages(current_notebook(), piece_id, uploads)
    except (PaperError, TooLarge, Refused) as error:
        form.pages.errors = [str(error)]
        status = error.status if isinstance(error, TooLarge) else 422
        return _show(piece_id, 1, RefusedForms(pages=form), status)
    view = open_own_pages(current_notebook(), piece_id)
    return redirect(url_for(".show", piece_id=piece_id, page=len(view.pages) - count + 1))


def read_page_uploads(uploads: Iterable[FileStorage]) -> list[PageUpload]:
    """Return the files with pages that were chosen, with their names; none where none was.

    Raises:
        TooLarge: one is larger than anything that is kept.
    """
    return [PageUpload(each.stream, each.filename or "") for each in read_pages(uploads)]


def remove_pages(piece_id: int, file_id: int) -> AnyResponse:
    """Take a file off the piece, with the marks on it."""
    if PressForm().validate():
        try:
            remove_file(current_notebook(), piece_id, file_id)
        except Refused as error:
            flash(str(error))
    return redirect(url_for(".show", piece_id=piece_id))


def mark(piece_id: int) -> Answer:
    """Mark a note."""
    form = MarkedNoteForm()
    number = request.args.get("page", default=1, type=int)
    if form.validate():
        instrument_id = request.args.get("instrument", type=int)
        file_id = read_row_number(form.file.data or "")
        try:
            add_mark(
                current_notebook(), piece_id, file_id, _spot(form), _draft(form), instrument_id
            )
        except (FieldRefused, Refused) as error:
            _refuse(form, error)
        else:
            return redirect(_address(piece_id, number))
    return _show(piece_id, number, RefusedForms(new=form), 422)


def _spot(form: MarkedNoteForm) -> Spot:
    x, y = form.x_mm.number, form.y_mm.number
    if x is None or y is None:
        raise FieldRefused("x_mm", NO_PLACE)
    page = form.page.data or ""
    return Spot(int(page) if page.isdecimal() and len(page) < 5 else -1, x, y)


def _draft(form: MarkedNoteForm) -> MarkDraft:
    kind = MarkForm(form.form.data) if form.form.data else None
    return MarkDraft(form.notes.data or "", form.bar.data or "", form.reference.data or "", kind)


def _refuse(form: MarkedNoteForm, error: Refused) -> None:
    if isinstance(error, FieldRefused):
        add_refusal(form, error)
    else:
        form.form_errors.append(str(error))


def _address(piece_id: int, number: int) -> str:
    return url_for(
        ".show",
        piece_id=piece_id,
        page=number,
        instrument=request.args.get("instrument", type=int),
    )


def change(piece_id: int, mark_id: int) -> Answer:
    """Change what a mark is, and where it stands."""
    form = ChangedMarkForm(prefix=f"mark-{mark_id}-")
    number = request.args.get("page", default=1, type=int)
    if form.validate():
        try:
            change_mark(current_notebook(), piece_id, mark_id, _spot(form), _draft(form))
        except (FieldRefused, Refused) as error:
            _refuse(form, error)
        else:
            return redirect(_address(piece_id, number))
    return _show(piece_id, number, RefusedForms(changed=form, mark_id=mark_id), 422)


def move(piece_id: int, mark_id: int) -> AnyResponse | tuple[dict[str, str], int]:
    """Move a mark that was dragged."""
    try:
        x, y = (float(request.form.get(name, "")) for name in ("x_mm", "y_mm"))
    except ValueError:
        x = y = _NOWHERE
    move_mark(current_notebook(), piece_id, mark_id, x, y)
    return {"moved": "yes"}, 200


def remove(piece_id: int, mark_id: int) -> AnyResponse:
    """Take a mark off the page."""
    if PressForm().validate():
        remove_mark(current_notebook(), piece_id, mark_id)
    return redirect(_address(piece_id, request.args.get("page", default=1, type=int)))


def see(piece_id: int) -> AnyResponse:
    """Keep that the player has seen what changed."""
    if PressForm().validate():
        say_seen(current_notebook(), piece_id)
    return redirect(_address(piece_id, request.args.get("page", default=1, type=int)))


def export(piece_id: int) -> Answer:
    """Hand out the part with the fingerings on it."""
    try:
        pdf = export_own_pages(
            current_notebook(), piece_id, request.args.get("instrument", type=int)
        )
    except (FieldRefused, PaperError) as error:
        flash(str(error))
        return redirect(url_for(".show", piece_id=piece_id))
    if pdf is None:
        raise NotInNotebook("This piece has no pages yet. Open a PDF or photos of the part first.")
    answer = Response(pdf.content, mimetype="application/pdf")
    answer.headers["Content-Disposition"] = f'attachment; filename="{pdf.file_name}"'
    return answer
