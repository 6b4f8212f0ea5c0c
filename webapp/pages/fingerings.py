"""Pages about fingerings: log one, look at it, change it.

The log page is one form. Its button "Set the keys" sends it back filled in: the keys of the chosen
base are set, everything typed stays, nothing is kept. So a fingering can start from an ordinary one
without scripts.
"""

from dataclasses import dataclass

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import SelectChoice

from analysis.errors import AnalysisError
from analysis.finder import Strategy, recognise_strategy
from analysis.keywork import KeyStates, format_fingering
from webapp.drawing.fingering_entry import EntryView, entry_view
from webapp.forms.entries import FingeringForm, TakeForm, add_refusal, read_count
from webapp.notebook.entry.log import LogOffer, open_change, open_log
from webapp.notebook.fingerings.base_choices import BaseGroup
from webapp.notebook.fingerings.fingerings import (
    FingeringDraft,
    change_fingering,
    log_fingering,
    target_words,
)
from webapp.notebook.fingerings.sorting import give_take
from webapp.notebook.store.errors import FieldRefused, NotebookError, Refused, StaleEdit
from webapp.notebook.store.rows import Fingering, Instrument, Suggestion
from webapp.notebook.targets.bases import StartingPoint
from webapp.notebook.targets.reading import read_target
from webapp.pages.entry import render_entry
from webapp.pages.takes import attach_from_form
from webapp.pages.typed_keys import KeysProblem, read_keys, read_linked_keys
from webapp.presenting.words import current_notebook, current_writing, write_as

SPEAKS_SOFTLY = {"yes": True, "no": False}


@dataclass(slots=True)
class LogPage:
    """What the log page shows."""

    form: FingeringForm
    take_form: TakeForm | None
    instrument: Instrument
    keys: KeyStates
    base: StartingPoint | None
    base_groups: tuple[BaseGroup, ...]
    fingering: Fingering | None = None
    stale: str = ""
    problem: KeysProblem | None = None

    @property
    def entry(self) -> EntryView:
        """The keys as the entry widget shows them."""
        return entry_view(
            self.instrument.layout,
            self.keys,
            self.base.keys if self.base else None,
            names=current_writing().names,
        )


def log(instrument_id: int) -> str | Response | tuple[str, int]:
    """Log a fingering, with its first recording if there is one."""
    page = _open_log_page(instrument_id)
    if not page.form.is_submitted() or _sets_keys(page):
        return _render(page)
    if page.form.validate() and page.take_form is not None and page.take_form.validate():
        try:
            fingering_id = log_fingering(
                current_notebook(), instrument_id, _draft(page), names=current_writing().names
            )
        except FieldRefused as error:
            add_refusal(page.form, error)
        else:
            flash("The fingering is in the notebook.")
            take_id = read_count(page.form.take)
            if take_id is not None:
                give_take(current_notebook(), take_id, fingering_id)
            return _attach_first_take(fingering_id, page.take_form)
    return _render(page), 422


def show(fingering_id: int) -> str:
    """Show a fingering with its evidence."""
    return render_entry(fingering_id, TakeForm())


def edit(fingering_id: int) -> str | Response | tuple[str, int]:
    """Change a fingering."""
    page = _open_edit_page(fingering_id)
    if not page.form.is_submitted() or _sets_keys(page):
        return _render(page)
    if page.form.validate():
        try:
            change_fingering(
                current_notebook(),
                fingering_id,
                _draft(page),
                seen_version=read_count(page.form.version) or 0,
                names=current_writing().names,
            )
        except FieldRefused as error:
            add_refusal(page.form, error)
        except StaleEdit as error:
            page.stale = str(error)
            page.form.version.data = str(page.fingering.version) if page.fingering else ""
            return _render(page), error.status
        else:
            flash("The fingering is changed.")
            return redirect(url_for("fingerings.show", fingering_id=fingering_id))
    return _render(page), 422


def _softly_choice(speaks_softly: bool | None) -> str:
    return next((word for word, each in SPEAKS_SOFTLY.items() if each is speaks_softly), "")


def _render(page: LogPage) -> str:
    """Show the page; the text of the keys is what was typed only while it can't be read."""
    if page.problem is None:
        text = format_fingering(page.keys)
        page.form.keys_text.data = page.form.keys_text_was.data = text
    return render_template("fingering/form.html", page=page)


def _sets_keys(page: LogPage) -> bool:
    """Do what the buttons beside the keys ask for, if one of them was pressed; nothing is kept."""
    action = request.form.get("action")
    if action == "set-keys":
        page.problem = None
        _set_keys_from_base(page)
    return action in ("set-keys", "read-keys")


def _open_log_page(instrument_id: int) -> LogPage:
    """Fill the form from what was sent, else from the address (`target`, `base`, `keys`)."""
    form = FingeringForm(
        target=request.args.get("target", ""),
        base=request.args.get("base", ""),
        suggestion=request.args.get("suggestion", ""),
        take=request.args.get("take", ""),
        keys_text=request.args.get("keys", ""),
    )
    offer = open_log(
        current_notebook(),
        instrument_id,
        base=form.base.data or "",
        suggestion_id=read_count(form.suggestion),
    )
    instrument, base = offer.instrument, _take_over(form, offer)
    keys = base.keys if base else KeyStates.of(instrument.layout, {})
    if form.is_submitted():
        keys, problem = read_keys(form, instrument.layout)
    else:
        _propose_strategy(form, base, instrument)
        keys, problem = read_linked_keys(form, instrument.layout, keys)
        keys = _fill_from_suggestion(form, offer.suggestion, keys)
    return LogPage(form, TakeForm(), instrument, keys, base, offer.groups, problem=problem)


def _open_edit_page(fingering_id: int) -> LogPage:
    offer = open_change(current_notebook(), fingering_id, base=request.form.get("base"))
    instrument, fingering, kept = offer.instrument, offer.fingering, offer.kept
    assert fingering is not None
    write_as(offer.writing)
    # Not obj=fingering: WTForms would read the relationship `base`, which never loads by itself.
    form = FingeringForm(
        target=target_words(fingering, current_writing().names),
        base=kept.reference if kept else "",
        strategy=fingering.strategy,
        resistance=str(fingering.resistance or ""),
        resistance_notes=fingering.resistance_notes,
        does_not_speak=fingering.does_not_speak,
        speaks_softly=_softly_choice(fingering.speaks_softly),
        notes=fingering.notes,
        tags=", ".join(fingering.tags),
        version=str(fingering.version),
    )
    base = _take_over(form, offer)
    keys, problem = (
        read_keys(form, instrument.layout)
        if form.is_submitted()
        else (fingering.key_states(), None)
    )
    return LogPage(form, None, instrument, keys, base, offer.groups, fingering, problem=problem)


def _take_over(form: FingeringForm, offer: LogOffer) -> StartingPoint | None:
    """Let the form and the page have what was read; return the base that is chosen."""
    write_as(offer.writing)
    form.base.choices = [SelectChoice("", "nothing in particular")]
    if offer.base_refusal is not None:
        add_refusal(form, offer.base_refusal)
    return offer.base


def _fill_from_suggestion(
    form: FingeringForm, suggestion: Suggestion | None, keys: KeyStates
) -> KeyStates:
    """Return the suggested keys and set the suggested strategy; `keys` where there is none."""
    if suggestion is None:
        return keys
    try:
        suggested = suggestion.key_states()
    except AnalysisError:  # the layout has changed since
        return keys
    form.strategy.data = suggestion.strategy
    return suggested


def _set_keys_from_base(page: LogPage) -> None:
    if page.form.base.errors:
        return
    if page.base is None:
        page.keys = KeyStates.of(page.instrument.layout, {})
        return
    page.keys = page.base.keys
    _propose_strategy(page.form, page.base, page.instrument)


def _propose_strategy(
    form: FingeringForm, base: StartingPoint | None, instrument: Instrument
) -> None:
    if base is None or not (form.target.data or "").strip():
        return
    try:
        writing = current_writing()
        target = read_target(
            form.target.data, instrument, writing.names, system=writing.accidentals
        )
    except FieldRefused:
        return
    strategy = recognise_strategy(base.written, target)
    if strategy is not None:
        form.strategy.data = strategy.value


def _draft(page: LogPage) -> FingeringDraft:
    """Gather what was typed.

    Raises:
        FieldRefused: the text of the keys can't be read.
    """
    form = page.form
    if page.problem is not None:
        raise FieldRefused("keys_text", page.problem.message)
    return FingeringDraft(
        keys=page.keys,
        target=form.target.data or "",
        strategy=Strategy(form.strategy.data),
        base=form.base.data or "",
        resistance=read_count(form.resistance),
        resistance_notes=form.resistance_notes.data or "",
        notes=form.notes.data or "",
        tags=tuple((form.tags.data or "").split(",")),
        does_not_speak=bool(form.does_not_speak.data),
        speaks_softly=SPEAKS_SOFTLY.get(form.speaks_softly.data or ""),
        suggestion_id=read_count(form.suggestion),
    )


def _attach_first_take(fingering_id: int, take_form: TakeForm) -> Response | tuple[str, int]:
    """Attach the recording that came with the form; a refused one leaves the fingering kept."""
    if take_form.clip.data is None or not take_form.clip.data.filename:
        return redirect(url_for("fingerings.show", fingering_id=fingering_id))
    try:
        address = attach_from_form(fingering_id, take_form)
    except (Refused, NotebookError, AnalysisError) as error:
        take_form.clip.errors = [f"The fingering is kept, its recording is not. {error}"]
        status = error.status if isinstance(error, NotebookError) else 422
        return render_entry(fingering_id, take_form), status
    return redirect(address)
