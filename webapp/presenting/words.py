"""Words for the templates: filters, facts, and the player's way of writing."""

import json
from datetime import date, datetime
from fractions import Fraction
from functools import lru_cache

from flask import Flask, current_app, g, request

from analysis.errors import AnalysisError
from analysis.finder import Strategy
from analysis.keywork import (
    KeyStates,
    Layout,
    describe_changes,
    find_changes,
    format_fingering,
    ordinary_fingerings,
    shorten_changes,
    spell_out,
)
from analysis.pitch import (
    KINDS,
    NoteNames,
    Register,
    SoundingPitch,
    WrittenPitch,
    format_cents,
    format_pitch,
    list_just_figures,
    parse_pitch,
)
from analysis.recording import explain, explain_warning
from webapp.drawing.figures import format_uncertainty
from webapp.notebook.preferences.preferences import Writing, read_preferences
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Circumstance, DismissReason, Fingering, Settlement, Take
from webapp.notebook.targets.choices import describe_word
from webapp.presenting.chances import chances_in_ten, describe_chances
from webapp.presenting.hands import describe_ease, describe_way
from webapp.presenting.text_direction import isolate, isolate_plain, isolate_quotes

RESISTANCE_WORDS = {1: "free", 2: "light", 3: "noticeable", 4: "high", 5: "very high"}
DYNAMICS_WORDS = {
    "pp": "pp, very soft",
    "p": "p, soft",
    "mp": "mp",
    "mf": "mf",
    "f": "f, loud",
    "ff": "ff, very loud",
}


_ASKED = ("q", "changes", "colour", "halves", "free", "down", "grid", "low", "high")
PAPER_COLOURS = {"light": "#fbf9f4", "dark": "#141517"}
"""--paper in css/tokens.css, for what is outside the page: the bars of a system."""


def current_notebook() -> Notebook:
    """Return the notebook that this application serves."""
    notebook: Notebook = current_app.extensions["notebook"]
    return notebook


def current_writing() -> Writing:
    """Return the player's preferences, read once a request."""
    if "writing" not in g:
        g.writing = read_preferences(current_notebook())
    writing: Writing = g.writing
    return writing


def asked_again() -> dict[str, list[str]]:
    """Return what the page's address asks of the finder, so that a button can lead back to it."""
    return {name: request.args.getlist(name) for name in _ASKED if name in request.args}


def write_as(writing: Writing) -> None:
    """Take over the player's preferences where a verb read them with the rest of the page."""
    g.writing = writing


def register(app: Flask) -> None:
    """Give the templates their words."""
    app.jinja_env.filters.update(
        pitch_words=pitch_words,
        pitch_short=pitch_short,
        asked=asked_as,
        keys_text=format_fingering,
        cents=format_cents,
        give=format_uncertainty,
        day=day_words,
        moment=moment_words,
        clock=clock_words,
        resistance=RESISTANCE_WORDS.__getitem__,
        isolate=isolate,
        isolate_plain=isolate_plain,
        isolate_quotes=isolate_quotes,
        from_json=json.loads,
    )
    app.jinja_env.globals.update(
        writing=current_writing,
        paper_colours=PAPER_COLOURS,
        strategies=tuple(Strategy),
        registers=tuple(Register),
        kinds=KINDS,
        explain=explain,
        explain_warning=explain_warning,
        spell_out=spell_out,
        changes_in_words=changes_in_words,
        short_changes=short_changes,
        describe_ease=describe_ease,
        chances_in_ten=chances_in_ten,
        describe_chances=describe_chances,
        nothing_pressed=nothing_pressed,
        ordinary_fingerings=ordinary_fingerings,
        describe_way=describe_way,
        dismiss_reasons=tuple(DismissReason),
        take_offset_cents=take_offset_cents,
        just_figures=list_just_figures(),
        asked_again=asked_again,
        circumstances=tuple(Circumstance),
        describe_word=describe_word,
        settlements=tuple(Settlement),
    )
    app.context_processor(_tell_of_demo)
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True


def pitch_words(written: WrittenPitch) -> str:
    """Name a written pitch in the player's language."""
    return _name(written, written.sign_cents, current_writing().names)


@lru_cache(maxsize=4096)
def _name(written: WrittenPitch, sign_cents: Fraction | None, names: NoteNames) -> str:
    """Name a pitch in words, once: lists of bases name the same ones again and again.

    The spelling is no part of a pitch's equality, so its sign is named beside it.
    """
    del sign_cents
    return format_pitch(written.to_be_read(), names=names, style="words")


def pitch_short(written: WrittenPitch) -> str:
    """Name a written pitch shortly, in the player's language."""
    return format_pitch(written, names=current_writing().names, style="short")


def asked_as(written: WrittenPitch) -> str:
    """Write a pitch for an address that asks for it: short, and read back as the same pitch.

    That is the canonical text, unless the player's note names read it otherwise: B4 is B flat 4 in
    German.
    """
    if written.asking_text != written.canonical:
        return written.asking_text
    is_safe = _is_read_back(written, current_writing().names)
    return written.canonical if is_safe else pitch_short(written)


@lru_cache(maxsize=4096)
def _is_read_back(written: WrittenPitch, names: NoteNames) -> bool:
    try:
        return parse_pitch(written.canonical, names=names) == written
    except AnalysisError:
        return False


def day_words(moment: datetime | date) -> str:
    """Write a date so that no country reads it wrongly, in the time zone of this machine."""
    here = moment.astimezone() if isinstance(moment, datetime) else moment
    return f"{here.day} {here:%b %Y}"


def moment_words(moment: datetime) -> str:
    """Write date and time, in the time zone of this machine: that of the player."""
    return f"{day_words(moment)}, {clock_words(moment)}"


def clock_words(moment: datetime) -> str:
    """Write the time of day, in the time zone of this machine."""
    return f"{moment.astimezone():%H:%M}"


def short_changes(fingering: KeyStates, base: KeyStates | None) -> str:
    """Say shortly what changed against the base; empty where there is none, or nothing did."""
    return shorten_changes(find_changes(base, fingering)) if base is not None else ""


def changes_in_words(fingering: KeyStates, base: KeyStates | None) -> str:
    """Say what changed against the base; empty where there is no base."""
    if base is None:
        return ""
    return describe_changes(find_changes(base, fingering)) or "the same keys"


def nothing_pressed(layout: Layout) -> KeyStates:
    """Return the fingering that shows a layout with all its keys at rest."""
    return KeyStates.of(layout, {})


def take_offset_cents(take: Take, fingering: Fingering) -> float | None:
    """Return how far a take lies from the target of its fingering."""
    sounding = take.sounding
    if sounding is None:
        return None
    return SoundingPitch(fingering.target_cents).interval_to(sounding)


def _tell_of_demo() -> dict[str, object]:
    """Say whether this is the demo, and how many of its takes are still being measured."""
    demo = current_app.extensions.get("demo")
    left = demo.left_count if demo is not None else 0
    return {"is_demo": current_notebook().is_demo, "demo_left": left}
