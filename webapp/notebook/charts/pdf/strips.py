"""Sheet of a piece as engraved strips: the hard bars as music, with drawings above their notes.

An excerpt is a few bars that follow each other. Within it a fingering is drawn where it comes
first; if it comes again, it has a letter there and is the letter alone after that. An excerpt is
never torn between two pages unless it is taller than one, so that every letter has its drawing in
sight.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from analysis.engraving import NoteLine, engrave
from analysis.keywork import KeyStates
from analysis.pitch import WrittenPitch, format_pitch
from webapp.drawing.engraved_strip import Codepoints, EngravedStrip, draw_engraved_strip
from webapp.notebook.charts.pdf.bars import NOTHING, SheetSpec, feed_keys, feed_sheet_head, tell_key
from webapp.notebook.charts.pdf.feed import Fed
from webapp.notebook.charts.pdf.prose import clean_line, prepare
from webapp.notebook.charts.pdf.rendering import typeset

_TEMPLATE = "strips.typ"
WIDTH_MM = 183.0
_LONGEST_WORDS = 110


@dataclass(frozen=True, slots=True)
class StripMark:
    """Mark above a note: a fingering (None where there is none) and a word on it.

    `letter` is '' where the fingering comes once only; `is_drawn` is off where the letter stands
    alone.
    """

    pitches: tuple[WrittenPitch, ...]
    bar_label: str
    fingering: KeyStates | None
    letter: str
    is_drawn: bool
    words: str
    is_certain: bool


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Bars that follow each other: the line, its signs and marks by note, its words by bar."""

    line: NoteLine
    signs: Mapping[str, tuple[Codepoints, ...]]
    marks: Mapping[str, tuple[StripMark, ...]]
    words: str = ""


def render_strips(spec: SheetSpec, excerpts: Sequence[Excerpt]) -> bytes:
    """Make the PDF of a sheet of engraved strips; the bars of `spec` are not looked at.

    Raises:
        EngraverFault: the engraver failed.
    """
    marks = [mark for each in excerpts for some in each.marks.values() for mark in some]
    fed: Fed = {
        **feed_sheet_head(spec),
        "empty": NOTHING,
        "key": tell_key(any(mark.letter for mark in marks), any(mark.is_certain for mark in marks)),
        "excerpts": [_feed_excerpt(each, spec) for each in excerpts],
    }
    return typeset(_TEMPLATE, fed, spec.as_of)


def _feed_excerpt(excerpt: Excerpt, spec: SheetSpec) -> Fed:
    labels = [bar.label for bar in excerpt.line.bars]
    first, last = labels[0], labels[-1]
    where = f"Bar {first}" if first == last else f"Bars {first} to {last}"
    systems = engrave(excerpt.line, width_mm=WIDTH_MM)
    strips = [
        draw_engraved_strip(
            each,
            excerpt.signs,
            title=f"{where}, engraved, system {place + 1} of {len(systems)}",
        )
        for place, each in enumerate(systems)
    ]
    return {
        "words": asdict(prepare(excerpt.words, longest=_LONGEST_WORDS, most_lines=1)),
        "systems": [
            _feed_system(each, excerpt, f"{where}, system {place + 1}", spec)
            for place, each in enumerate(strips)
        ],
    }


def _feed_system(strip: EngravedStrip, excerpt: Excerpt, words: str, spec: SheetSpec) -> Fed:
    marks = [
        _feed_mark(mark, strip.notes_mm[key], place, spec)
        for key, several in excerpt.marks.items()
        if key in strip.notes_mm
        for place, mark in enumerate(several)
    ]
    return {
        "svg": strip.svg,
        "alt": words,
        "width_mm": strip.width_mm,
        "height_mm": strip.height_mm,
        "has_drawings": any(each["fingering"] is not None for each in marks),
        "marks": marks,
    }


def _feed_mark(mark: StripMark, x_mm: float, place: int, spec: SheetSpec) -> Fed:
    name = " and ".join(
        format_pitch(each.to_be_read(), names=spec.names, style="words") for each in mark.pitches
    )
    is_drawn = mark.is_drawn and mark.fingering is not None
    return {
        "x_mm": x_mm,
        "place": place,
        "fingering": feed_keys(mark.fingering, f"Bar {mark.bar_label}, {name}", spec.names)
        if is_drawn and mark.fingering is not None
        else None,
        "letter": mark.letter,
        "words": clean_line(mark.words, longest=18),
        "is_certain": mark.is_certain,
    }
