"""Notes of a piece: settle one with a word, fix a fingering, enter the composer's."""

from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.errors import AnalysisError
from analysis.pitch import WrittenPitch
from webapp.forms.entries import PressForm, add_refusal
from webapp.forms.pieces import ComposersForm, FixForm, SettleForm
from webapp.notebook.pieces.decisions import (
    FixPlace,
    enter_composers_fingering,
    fix,
    open_again,
    remove_composers_fingering,
    say_it_speaks,
    settle,
    unfix,
)
from webapp.notebook.pieces.pieces import PiecePage, open_piece
from webapp.notebook.pieces.places import NotePlace, find_places
from webapp.notebook.pieces.todo import TodoNote
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.fetching import read_row_number
from webapp.notebook.store.rows import FixedFingering, FixKind, Settlement
from webapp.presenting.words import current_notebook, pitch_words, write_as

Answer = str | Response | tuple[str, int]
SPEAKS = {"yes": True, "no": False}
EVERYWHERE = "everywhere"


@dataclass(frozen=True, slots=True)
class FixChoice:
    """One choice of where a fingering is fixed: its value in the form, and in words."""

    value: str
    words: str
    place: FixPlace


def show(piece_id: int, instrument_id: int, note: str) -> str:
    """Show one note of a piece: where it stands, what is decided about it."""
    return _show(piece_id, instrument_id, note)


def _show(
    piece_id: int, instrument_id: int, note: str, composers_form: ComposersForm | None = None
) -> str:
    page = open_piece(current_notebook(), piece_id, instrument_id)
    write_as(page.todo.writing)
    todo = _find(page, _read(note))
    places = find_places(page.todo.part, page.instrument.transposition, todo.need.written)
    return render_template(
        "pieces/note.html",
        page=page,
        instrument=page.instrument,
        todo=todo,
        places=places,
        choices=list_choices(todo.need.written, places),
        fixed_words={each.id: tell_fixed(each, page) for each in todo.fixed},
        settle_form=SettleForm(
            formdata=None,
            note=todo.need.written.canonical,
            how=todo.settled.how if todo.settled else None,
            reason=todo.settled.reason if todo.settled else "",
        ),
        composers_form=composers_form
        or ComposersForm(formdata=None, notes=pitch_words(todo.need.written)),
    )


def _read(note: str) -> WrittenPitch:
    try:
        return WrittenPitch.from_canonical(note)
    except AnalysisError as error:
        raise NotInNotebook(f"“{note[:40]}” is no note.") from error


def _find(page: PiecePage, written: WrittenPitch) -> TodoNote:
    found = next(
        (each for each in page.todo.notes if each.need.written.cents == written.cents), None
    )
    if found is None:
        raise NotInNotebook("This note needs no thought in this piece, or is not in it.")
    return found


def list_choices(written: WrittenPitch, places: tuple[NotePlace, ...]) -> tuple[FixChoice, ...]:
    """Return where a fingering can be fixed: everywhere, between notes, at one place."""
    choices = [FixChoice(EVERYWHERE, "every place in this piece", FixPlace(written))]
    seen = set()
    for each in places:
        beside = (each.before, each.after)
        if beside not in seen and any(beside):
            seen.add(beside)
            words = _tell_beside(each.before, each.after)
            place = FixPlace(written, before=each.before, after=each.after)
            choices.append(FixChoice(f"beside {len(seen)}", words, place))
    for each in places:
        onset = each.note.onset
        words = f"only bar {each.bar_label}" + (f", beat {float(onset) + 1:g}" if onset else "")
        place = FixPlace(written, bar=each.note.bar, onset=onset)
        choices.append(FixChoice(f"at {each.note.bar} {onset}", words, place))
    return tuple(choices)


def _tell_beside(before: WrittenPitch | None, after: WrittenPitch | None) -> str:
    parts = []
    if before is not None:
        parts.append(f"after {pitch_words(before)}")
    if after is not None:
        parts.append(f"before {pitch_words(after)}")
    return " and ".join(parts)


def tell_fixed(fixed: FixedFingering, page: PiecePage) -> str:
    """Say which notes a fingering is fixed for."""
    if fixed.kind == FixKind.PITCH:
        return "every place"
    if fixed.kind == FixKind.PATTERN:
        before, after = (
            WrittenPitch.from_cents(Fraction(text)) if text else None
            for text in (fixed.before_exact, fixed.after_exact)
        )
        return _tell_beside(before, after)
    bars = page.todo.part.bars
    label = bars[fixed.bar].label if fixed.bar < len(bars) else ""
    onset = Fraction(fixed.onset or 0)
    return f"bar {label or fixed.bar + 1}" + (f", beat {float(onset) + 1:g}" if onset else "")


def settle_note(piece_id: int, instrument_id: int) -> Response:
    """Settle a note with a word."""
    form = SettleForm()
    if not form.validate():
        words = "Choose how the note is settled: lip it, substitute, leave it out or ask."
        return _refuse(piece_id, instrument_id, words)
    written = _read(form.note.data or "")
    settle(
        current_notebook(),
        piece_id,
        instrument_id,
        written,
        Settlement(form.how.data),
        form.reason.data or "",
    )
    return _back(piece_id, instrument_id)


def open_note_again(piece_id: int, instrument_id: int) -> Response:
    """Take the word back that settled a note."""
    written = _read(request.form.get("note", ""))
    open_again(current_notebook(), piece_id, instrument_id, written)
    return _back(piece_id, instrument_id)


def fix_note(piece_id: int, instrument_id: int, note: str) -> Response:
    """Fix a fingering for a note of a piece."""
    form = FixForm()
    written = _read(note)
    page = open_piece(current_notebook(), piece_id, instrument_id)
    places = find_places(page.todo.part, page.instrument.transposition, written)
    choices = {each.value: each.place for each in list_choices(written, places)}
    place = choices.get(form.place.data or EVERYWHERE)
    if place is None:
        flash("Choose where the fingering is fixed.")
    else:
        number = read_row_number(form.fingering.data or "")
        fix(current_notebook(), piece_id, number, place)
        flash("Fixed. No plan changes it.")
    return redirect(
        url_for(".show", piece_id=piece_id, instrument_id=instrument_id, note=written.canonical)
    )


def let_go(piece_id: int, instrument_id: int, fixed_id: int) -> Response:
    """Let go of a fixed fingering."""
    unfix(current_notebook(), piece_id, fixed_id)
    flash("Let go.")
    return _back(piece_id, instrument_id)


def enter(piece_id: int, instrument_id: int) -> Answer:
    """Keep a fingering that is printed in the part."""
    form = ComposersForm()
    note = request.form.get("back", "")
    if form.validate():
        try:
            enter_composers_fingering(
                current_notebook(),
                piece_id,
                instrument_id,
                form.notes.data or "",
                form.keys.data or "",
            )
        except FieldRefused as error:
            add_refusal(form, error)
        else:
            flash("Kept as the composer's. It is tried first.")
            return _back(piece_id, instrument_id)
    if note:
        with suppress(NotInNotebook):
            return _show(piece_id, instrument_id, note, form), 422
    words = " ".join(str(each) for errors in form.errors.values() for each in errors)
    return _refuse(piece_id, instrument_id, words)


def say_speaks(piece_id: int, instrument_id: int, composers_id: int) -> Response:
    """Keep whether a multiphonic speaks."""
    said = SPEAKS.get(request.form.get("speaks", ""))
    say_it_speaks(current_notebook(), piece_id, composers_id, speaks=said)
    return _back(piece_id, instrument_id)


def remove(piece_id: int, instrument_id: int, composers_id: int) -> Response:
    """Take a composer's fingering off a piece."""
    if PressForm().validate():
        remove_composers_fingering(current_notebook(), piece_id, composers_id)
    return _back(piece_id, instrument_id)


def _back(piece_id: int, instrument_id: int) -> Response:
    return redirect(url_for("pieces.show", piece_id=piece_id, instrument=instrument_id))


def _refuse(piece_id: int, instrument_id: int, words: str) -> Response:
    """Say on the page of a piece that is there why nothing was kept."""
    open_piece(current_notebook(), piece_id, instrument_id)
    flash(words)
    return _back(piece_id, instrument_id)
