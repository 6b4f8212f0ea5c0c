"""Find fingerings by target pitch."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any

from flask import render_template, request, url_for
from wtforms import SelectChoice

from analysis.errors import AnalysisError
from analysis.finder import Strategy
from analysis.pitch import Register, WrittenPitch
from webapp.forms.entries import FilterForm, SearchForm, add_refusal, read_count
from webapp.notebook.finder.search_page import open_search
from webapp.notebook.store.rows import Instrument
from webapp.notebook.takes.playback import Tones, find_tones
from webapp.notebook.targets.search import CONCERT, SearchQuery, SearchResult
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing, write_as

NARROWED = ("within", "strategy", "resistance", "register", "whole", "measured", "mine")
ASKED = ("q", "instrument", *NARROWED)
USUAL_WITHIN_CENTS = 25.0
HIGHEST_PAGE = 100_000


def show() -> str | tuple[str, int]:
    """Search, or show the empty form."""
    form = SearchForm(request.args)
    is_in_order = form.validate()
    query = _query(form) if is_in_order else None
    page = open_search(
        current_notebook(),
        current_result_cache(),
        query,
        is_only_meant="instrument" not in request.args,
    )
    write_as(page.writing)
    _offer_instruments(form, page.instruments)
    if page.problem is not None:
        add_refusal(form, page.problem)
        return render_template("search.html", form=form, result=None), page.problem.status
    if page.result is None:
        return render_template("search.html", form=form, result=None), 422
    return render_template(
        "search.html",
        form=form,
        result=page.result,
        instruments=page.instruments,
        next_page=_turned(by=1),
        previous_page=_turned(by=-1) if _page() > 1 else None,
        suggested=page.suggested,
        tones=_tones(page.result, form.q.data or ""),
    )


def _offer_instruments(form: SearchForm, instruments: Sequence[Instrument]) -> None:
    form.instrument.choices = [
        *(SelectChoice(str(each.id), each.name) for each in instruments),
        SelectChoice("", "every instrument, by sounding pitch"),
    ]
    if "instrument" not in request.args:
        form.instrument.data = str(instruments[0].id) if len(instruments) == 1 else ""


def _tones(result: SearchResult, text: str) -> Tones | None:
    """Return what the target and its root sound like."""
    if result.target is None:
        return None
    return find_tones(
        text,
        result.target.written,
        transposition=result.instrument.transposition if result.instrument else CONCERT,
        tuning=result.target.tuning,
        names=current_writing().names,
    )


def _query(form: SearchForm) -> SearchQuery:
    return replace(
        read_filters(form),
        text=form.q.data or "",
        in_hand=_read_near(form),
        instrument_id=read_count(form.instrument),
        page=_page(),
    )


def _read_near(form: SearchForm) -> WrittenPitch | None:
    """Return the note that the page had found, which +50 alone is counted from."""
    with suppress(AnalysisError):
        return WrittenPitch.from_canonical(form.near.data or "")
    return None


def read_filters(
    form: FilterForm, *, usual_within_cents: float = USUAL_WITHIN_CENTS
) -> SearchQuery:
    """Read which fingerings count from a form that is in order."""
    number = form.within.number
    return SearchQuery(
        within_cents=usual_within_cents if number is None else number,
        strategy=Strategy(form.strategy.data) if form.strategy.data else None,
        highest_resistance=read_count(form.resistance),
        is_without_half_holes=bool(form.whole.data),
        is_measured_only=bool(form.measured.data),
        is_choice_only=bool(form.mine.data),
        register=Register(form.register.data) if form.register.data else None,
    )


def _page() -> int:
    """Return the page that is asked for; anything else than a number asks for the first."""
    return max(1, min(request.args.get("page", 1, type=int), HIGHEST_PAGE))


def _turned(*, by: int) -> str:
    """Return where the page before or after begins, of the same search."""
    asked: dict[str, Any] = {name: value for name, value in request.args.items() if name in ASKED}
    if request.args.get("q.touched") or request.args.get("q.choice"):
        asked["q"] = SearchForm(request.args).q.data
    return url_for("search.show", page=_page() + by, _anchor="found", **asked)
