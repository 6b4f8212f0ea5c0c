"""Repertory of a player as PDF, for composers and teachers: tables of steps and of trills."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date

from analysis.pitch import (
    STEIN_ZIMMERMANN,
    NoteNames,
    Sentence,
    SignSystem,
    WrittenPitch,
    format_pitch,
)
from webapp.drawing.fingering_file import draw_name
from webapp.notebook.charts.pdf.feed import TYPST_PAPER, Fed, format_date
from webapp.notebook.charts.pdf.prose import clean_line, compose, prepare
from webapp.notebook.charts.pdf.rendering import typeset
from webapp.notebook.charts.pdf.spec import Paper

_TEMPLATE = "repertory.typ"
_LONGEST_NAME, _LONGEST_TITLE, _LONGEST_KEYS, _LONGEST_WORDS = 60, 160, 120, 120


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step: how it stands, at which dynamics, what else to know, and its keys as text."""

    written: WrittenPitch
    standing: str
    figure: str
    dynamics: str
    remarks: str
    keys: str
    is_measured: bool


@dataclass(frozen=True, slots=True)
class TrillLine:
    """A lower note with a short word for each interval; bold what goes well and is known."""

    written: WrittenPitch
    cells: tuple[tuple[str, bool], ...]


@dataclass(frozen=True, slots=True)
class RepertorySpec:
    """Printed repertory: head, writing, steps by register, trills by their lower note.

    `intervals` are those of the trills, in cents and in words ('' for none).
    """

    title: str
    instrument_name: str
    kind_name: str
    transposition: Sentence
    registers: tuple[tuple[str, tuple[StepLine, ...]], ...]
    open_steps: tuple[WrittenPitch, ...]
    intervals: tuple[tuple[int, str], ...]
    trills: tuple[TrillLine, ...]
    about_steps: str
    about_open: str
    how_to_read: str
    as_of: date
    paper: Paper = Paper.A4
    accidental_style: SignSystem = STEIN_ZIMMERMANN
    names: NoteNames = NoteNames.ENGLISH


def render_repertory(spec: RepertorySpec) -> bytes:
    """Make the PDF of what a player has; the same specification gives the same bytes."""
    title = clean_line(spec.title, longest=_LONGEST_TITLE)
    name, kind = (
        clean_line(text, longest=_LONGEST_NAME) for text in (spec.instrument_name, spec.kind_name)
    )
    day = f"as of {format_date(spec.as_of)}"
    fed: Fed = {
        "paper": TYPST_PAPER[spec.paper],
        "title": title,
        "title_line": asdict(prepare(title)),
        "instrument": asdict(compose((name, kind, day), " · ")),
        "foot": asdict(compose((title, name, day), " · ")),
        "transposition": [_feed_part(spec, part) for part in spec.transposition.parts],
        "registers": [
            {"name": register, "steps": [_feed_step(spec, line) for line in lines]}
            for register, lines in spec.registers
        ],
        "open": [_feed_name(spec, written) for written in spec.open_steps],
        "intervals": [{"cents": str(cents), "words": words} for cents, words in spec.intervals],
        "trills": [
            {
                "name": _feed_name(spec, line.written),
                "cells": [{"words": words, "strong": strong} for words, strong in line.cells],
            }
            for line in spec.trills
        ],
        "about_steps": spec.about_steps,
        "about_open": spec.about_open,
        "how_to_read": spec.how_to_read,
    }
    return typeset(_TEMPLATE, fed, spec.as_of)


def _feed_step(spec: RepertorySpec, line: StepLine) -> Fed:
    return {
        "name": _feed_name(spec, line.written),
        "standing": line.standing,
        "figure": line.figure,
        "dynamics": line.dynamics,
        "remarks": clean_line(line.remarks, longest=_LONGEST_WORDS),
        "keys": asdict(prepare(line.keys, longest=_LONGEST_KEYS, most_lines=1)),
        "measured": line.is_measured,
    }


def _feed_part(spec: RepertorySpec, part: str | WrittenPitch) -> Fed:
    """Feed a part of a sentence: words, or a note as a picture."""
    if isinstance(part, str):
        return {"words": part, "name": None}
    return {"words": "", "name": _feed_name(spec, part)}


def _feed_name(spec: RepertorySpec, written: WrittenPitch) -> Fed:
    svg = draw_name(written, style=spec.accidental_style, names=spec.names)
    alt = format_pitch(written.to_be_read(), names=spec.names, style="words")
    return {"svg": svg, "alt": alt}
