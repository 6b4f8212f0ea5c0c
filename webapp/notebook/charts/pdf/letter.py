"""Letter as PDF: paragraphs and headings on one page, smaller where they need the room."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date

from webapp.notebook.charts.pdf.feed import TYPST_PAPER, Fed, format_date
from webapp.notebook.charts.pdf.prose import clean_line, compose, prepare
from webapp.notebook.charts.pdf.rendering import typeset
from webapp.notebook.charts.pdf.spec import Paper

_TEMPLATE = "letter.typ"
_LONGEST_TITLE = 200


@dataclass(frozen=True, slots=True)
class LetterSpec:
    """A letter: its title, its paragraphs, each with whether it is a heading, and its day."""

    title: str
    paragraphs: tuple[tuple[str, bool], ...]
    as_of: date
    paper: Paper = Paper.A4


def render_letter(spec: LetterSpec) -> bytes:
    """Make the PDF of a letter."""
    title = clean_line(spec.title, longest=_LONGEST_TITLE) or "Letter"
    fed: Fed = {
        "paper": TYPST_PAPER[spec.paper],
        "title": title,
        "title_line": asdict(prepare(title)),
        "foot": asdict(compose((title, format_date(spec.as_of)), " · ")),
        "paragraphs": [
            {"is_heading": is_heading, "prose": asdict(prepare(text))}
            for text, is_heading in spec.paragraphs
        ],
    }
    return typeset(_TEMPLATE, fed, spec.as_of)
