"""Sheet of a piece: which note of which bar is played with which fingering.

Of the fingerings for a note at its place counts what the player fixed (there, in that pattern, for
the pitch), else that of a passage as the player saw it last, else the composer's that is to be
tried first, else the judge's best. Instruments of a
part that changes them stand in one sheet, bar by bar.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from analysis.errors import AnalysisError
from analysis.keywork import KeyStates, parse_fingering
from analysis.pitch import PitchOutOfRange, WrittenPitch, format_cents
from analysis.score import PartNote, ScorePart
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.charts.pdf.bars import SheetBar, SheetNote, SheetSpec
from webapp.notebook.pieces.decisions import Decisions, Where, find_fixed
from webapp.notebook.pieces.needs import find_octaves, move_octaves
from webapp.notebook.pieces.passage_notes import mark_of
from webapp.notebook.pieces.passage_steps import TRILL_BETWEEN
from webapp.notebook.pieces.places import find_second, list_written
from webapp.notebook.pieces.shown_passage import read_shown
from webapp.notebook.pieces.todo import PieceTodo, TodoNote
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.rows import Instrument

COMPOSERS = "composer's"
FIXED = "fixed"
CLARINETS = {
    300: "E-flat clarinet", 0: "C clarinet", -200: "B-flat clarinet", -300: "A clarinet",
    -1400: "bass clarinet",
}  # fmt: skip
"""The usual instrument of a transposition, where a part changes it."""


@dataclass(frozen=True, slots=True)
class SheetPlace:
    """A note of a piece with what it is played with; `keys_text` is '' where it is open.

    `pitches` has several of a multiphonic; `is_second` is on for the other note of a trill.
    """

    note: PartNote
    bar_label: str
    instrument: Instrument
    pitches: tuple[WrittenPitch, ...]
    keys_text: str
    words: str
    is_certain: bool
    is_second: bool = False

    @property
    def key(self) -> tuple[str, str, str]:
        """Mark of a place on a printed sheet: bar, place in the bar, pitches."""
        pitches = " ".join(each.canonical for each in self.pitches)
        return self.bar_label, str(self.note.onset), pitches


@dataclass(frozen=True, slots=True)
class SheetHead:
    """Head of a sheet."""

    title: str
    composer: str = ""
    as_of: date | None = None
    paper: Paper = Paper.A4


Judgement = tuple[PieceTodo, Decisions]


def list_sheet_places(judgements: Sequence[Judgement]) -> tuple[SheetPlace, ...]:
    """Return all that a sheet shows, in the order of the part."""
    found = [place for todo, decisions in judgements for place in _list_of(todo, decisions)]
    return tuple(sorted(found, key=lambda each: (each.note.index, each.is_second)))


def _list_of(todo: PieceTodo, decisions: Decisions) -> Iterator[SheetPlace]:
    part, instrument = todo.part, todo.instrument
    notes = {each.need.written.cents: each for each in todo.notes}
    line = list(list_written(part, instrument.transposition))
    by_index = {note.index: pitch for note, pitch in line}
    shown = {
        mark: keys for each in decisions.passages for mark, keys in read_shown(each.shown).items()
    }
    for note, pitch in line:
        passage_keys = shown.get(mark_of(note, pitch), "").split(TRILL_BETWEEN)
        here = (note.bar, note.onset, by_index.get(note.index - 1), by_index.get(note.index + 1))
        if pitch.cents in notes:
            yield _place(todo, notes[pitch.cents], note, here, passage_keys[0])
        second = find_second(note, pitch)
        if second is not None and second.cents in notes:
            keys_text = passage_keys[-1] if len(passage_keys) > 1 else ""
            yield _place(todo, notes[second.cents], note, here, keys_text, is_second=True)
    yield from _list_multiphonics(part, instrument, decisions)


def _place(
    todo: PieceTodo,
    todo_note: TodoNote,
    note: PartNote,
    here: Where,
    passage_keys: str,
    *,
    is_second: bool = False,
) -> SheetPlace:
    keys_text, words, is_certain = choose_keys(todo_note, here, passage_keys)
    label = todo.part.bars[note.bar].label or f"({note.bar + 1})"
    return SheetPlace(
        note, label, todo.instrument, (todo_note.need.written,), keys_text, words, is_certain,
        is_second,
    )  # fmt: skip


def choose_keys(todo: TodoNote, here: Where, passage_keys: str = "") -> tuple[str, str, bool]:
    """Return the keys for a note at a place, the words below it, and whether that is measured.

    `passage_keys` are those of a passage that the place is in, '' for none. Cents are whole ones:
    nobody reads tenths from a stand.
    """
    settled = todo.settled.settlement.words if todo.settled else ""
    fixed = find_fixed(todo.fixed, here)
    if fixed is not None:
        row = fixed.fingering
        offset = row.sounding_cents - todo.answer.note.sounding.cents
        words = (
            f"{format_cents(offset, decimals=0)}, {FIXED}"
            if row.is_measured
            else f"not tried, {FIXED}"
        )
        return row.keys_text, settled or words, row.is_measured
    if passage_keys:
        known = (each for each in todo.answer.ranked if each.facts.keys_text == passage_keys)
        offset_cents = next((each.offset_cents for each in known), None)
        words = "not tried" if offset_cents is None else format_cents(offset_cents, decimals=0)
        return passage_keys, settled or words, offset_cents is not None
    if todo.to_try is not None:
        return todo.to_try.keys_text, settled or f"{COMPOSERS}, not tried", False
    best = todo.best
    if best is None:
        return "", settled or "open", False
    if best.offset_cents is None:
        return best.facts.keys_text, settled or "not tried", False
    return best.facts.keys_text, settled or format_cents(best.offset_cents, decimals=0), True


def _list_multiphonics(
    part: ScorePart, instrument: Instrument, decisions: Decisions
) -> Iterator[SheetPlace]:
    octaves = [find_octaves(each, instrument.transposition) for each in part.segments]
    for note in part.notes:
        shift = octaves[note.segment]
        if shift is None or not note.chord:
            continue
        try:
            pitches = tuple(move_octaves(each, shift) for each in note.chord)
        except PitchOutOfRange:
            continue
        kept = next(iter(decisions.composers_for(pitches)), None)
        label = part.bars[note.bar].label or f"({note.bar + 1})"
        speaks = None if kept is None else kept.speaks
        words = {True: "speaks", False: "does not speak", None: "not tried"}[speaks]
        if kept is None:
            words = ", ".join(note.fingerings) or "open"
        keys_text = "" if kept is None else kept.keys_text
        yield SheetPlace(note, label, instrument, pitches, keys_text, words, bool(speaks))


def compose_sheet(judgements: Sequence[Judgement], head: SheetHead, writing: Writing) -> SheetSpec:
    """Say what a sheet consists of, bar by bar; bars without anything to say are left out."""
    part = judgements[0][0].part
    by_bar: dict[int, list[SheetPlace]] = {}
    for place in list_sheet_places(judgements):
        by_bar.setdefault(place.note.bar, []).append(place)
    words = find_bar_words(part)
    bars = tuple(
        SheetBar(
            part.bars[bar].label or f"({bar + 1})",
            tuple(_make_cells(by_bar.get(bar, []))),
            words.get(bar, ""),
        )
        for bar in sorted(by_bar.keys() | words.keys())
    )
    return SheetSpec(
        title=head.title,
        composer=head.composer,
        instruments=tuple(todo.instrument.name for todo, _ in judgements),
        bars=bars,
        as_of=head.as_of,
        paper=head.paper,
        accidental_style=writing.accidentals,
        names=writing.names,
    )


def find_bar_words(part: ScorePart) -> Mapping[int, str]:
    """Return the words that say how to play, by bar."""
    found: dict[int, list[str]] = {}
    for text in part.texts:
        if text.is_technique:
            found.setdefault(text.bar, []).append(text.words)
    for segment in part.segments[1:]:
        usual = CLARINETS.get(segment.transposition_cents, segment.instrument)
        found.setdefault(segment.bar, []).insert(0, f"to {usual or 'another instrument'}")
    return {bar: "; ".join(dict.fromkeys(every)) for bar, every in found.items()}


def _make_cells(places: Sequence[SheetPlace]) -> Iterator[SheetNote]:
    """Make a cell of each note; the same again right after it is told in words."""

    def same(place: SheetPlace) -> tuple[object, ...]:
        return place.instrument.id, place.pitches, place.keys_text, place.is_second

    for _, group in groupby(places, key=same):
        every = list(group)
        first = every[0]
        mark = "tr" if first.is_second else f"{len(every)}×" if len(every) > 1 else ""
        yield SheetNote(
            pitches=first.pitches,
            clef=first.instrument.kind.clef,
            fingering=read_sheet_keys(first),
            words=first.words,
            mark=mark,
            is_certain=first.is_certain,
        )


def read_sheet_keys(place: SheetPlace) -> KeyStates | None:
    """Read the keys of a place; None where there are none that can be read."""
    return read_keys_of(place.keys_text, place.instrument)


def read_keys_of(keys_text: str, instrument: Instrument) -> KeyStates | None:
    """Read the keys of an instrument; None where there are none that can be read."""
    try:
        return parse_fingering(keys_text, instrument.layout) if keys_text else None
    except AnalysisError:
        return None


def write_content(places: Sequence[SheetPlace]) -> str:
    """Write what stands on a sheet, to be compared with later."""
    rows = [[*place.key, place.instrument.id, place.keys_text, place.words] for place in places]
    return json.dumps({"places": rows}, ensure_ascii=False, separators=(",", ":"))
