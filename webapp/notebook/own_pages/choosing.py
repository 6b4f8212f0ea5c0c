"""Fingerings of marks: what is played at each, by the same rules as on the sheet of the piece.

Of a note that needs thought counts what the sheet of the piece has at its place; of any other note
the judge's best, else the ordinary fingering of the keywork.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy.orm import Session

from analysis.keywork import KeyStates, format_fingering
from analysis.pitch import WrittenPitch, format_cents
from webapp.notebook.charts.pdf.bars import name_letters
from webapp.notebook.pieces.marked_parts import MarkedPlace
from webapp.notebook.pieces.sheet import (
    Judgement,
    SheetPlace,
    choose_keys,
    list_sheet_places,
    read_keys_of,
)
from webapp.notebook.store.rows import Instrument, MarkForm, PageMark
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.bases import ordinary_bases

ORDINARY = "ordinary"
OPEN = "open"
NOWHERE = (-1, Fraction(0), None, None)
_Heights = tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class ShownMark:
    """A mark with what is played there; `keys_text` is '' where the note is open.

    `letter` stands for the fingering on these pages, '' for none. `is_changed`: it is not what the
    player saw there last.
    """

    mark: PageMark
    instrument: Instrument
    keys_text: str
    words: str
    is_certain: bool
    letter: str = ""

    @property
    def is_changed(self) -> bool:
        """Whether another fingering stands there than the player saw last."""
        return self.keys_text != self.mark.seen_keys

    @property
    def keys(self) -> KeyStates | None:
        """The keys, or None where there are none that can be read."""
        return read_keys_of(self.keys_text, self.instrument)

    @property
    def is_drawn(self) -> bool:
        """Whether the fingering itself stands there, and not a letter for it."""
        return self.mark.form == MarkForm.DRAWING or not self.keys_text


def choose_for_marks(
    session: Session,
    judgements: Sequence[Judgement],
    marks: Sequence[PageMark],
    at: Mapping[int, MarkedPlace],
) -> tuple[ShownMark, ...]:
    """Return marks with what is played there, in their order.

    `at` says where each stands, where the part is made of the marks; else it is found by its bar.
    Of several instruments of one transposition the first counts; marks of a transposition that no
    instrument has are left out.
    """
    found: dict[int, ShownMark] = {}
    for transposition in dict.fromkeys(each.transposition_cents for each in marks):
        judgement = next(
            (
                each
                for each in judgements
                if each[0].instrument.transposition_cents == transposition
            ),
            None,
        )
        if judgement is not None:
            own = [each for each in marks if each.transposition_cents == transposition]
            found |= {each.mark.id: each for each in _choose(session, judgement, own, at)}
    return _letter([found[each.id] for each in marks if each.id in found])


def _choose(
    session: Session,
    judgement: Judgement,
    marks: Sequence[PageMark],
    at: Mapping[int, MarkedPlace],
) -> Iterable[ShownMark]:
    todo, _ = judgement
    instrument = todo.instrument
    places = _Places(list_sheet_places([judgement]))
    notes = {each.need.written.cents: each for each in todo.notes}
    apart = [mark.written[0] for mark in marks if len(mark.written) == 1]
    apart = [each for each in apart if each.cents not in notes]
    chosen = _choose_apart(session, instrument, apart)
    for mark in marks:
        place = places.find(mark, at.get(mark.id))
        if place is not None:
            row = (place.keys_text, place.words, place.is_certain)
        elif len(mark.written) == 1 and mark.written[0].cents in notes:
            row = choose_keys(notes[mark.written[0].cents], NOWHERE)
        elif len(mark.written) == 1:
            row = chosen[mark.written[0].cents]
        else:
            row = ("", OPEN, False)
        yield ShownMark(mark, instrument, *row)


class _Places:
    """Places of a sheet, to be found by what a mark says of its note."""

    def __init__(self, places: Iterable[SheetPlace]) -> None:
        self._exact: dict[tuple[str, str, _Heights, bool], SheetPlace] = {}
        self._in_bar: dict[tuple[str, _Heights], SheetPlace] = {}
        self._at: dict[MarkedPlace, SheetPlace] = {}
        for each in places:
            heights = _heights(each.pitches)
            exact = (each.bar_label, str(each.note.onset), heights, each.is_second)
            self._exact.setdefault(exact, each)
            self._in_bar.setdefault((each.bar_label, heights), each)
            self._at[MarkedPlace(each.note.bar, each.note.onset)] = each

    def find(self, mark: PageMark, at: MarkedPlace | None) -> SheetPlace | None:
        """Return the place of a mark, else the first of its note in the bar, or None."""
        if at is not None:
            return self._at.get(at)
        heights = _heights(mark.written)
        exact = self._exact.get((mark.bar_label, mark.onset, heights, mark.is_second))
        return exact or self._in_bar.get((mark.bar_label, heights))


def _heights(pitches: Sequence[WrittenPitch]) -> _Heights:
    return tuple(sorted(each.cents for each in pitches))


def _choose_apart(
    session: Session, instrument: Instrument, notes: Sequence[WrittenPitch]
) -> dict[Fraction, tuple[str, str, bool]]:
    """Choose for notes that the piece does not list as needing thought, by their heights."""
    if not notes:
        return {}
    judge = read_judge_of(session, instrument, notes)
    ordinary = {
        base.written.cents: format_fingering(base.keys)
        for base in reversed(tuple(ordinary_bases(instrument)))
    }
    found = {}
    for written in notes:
        best = judge.answer(written).best
        if best is None:
            keys_text = ordinary.get(written.cents, "")
            found[written.cents] = (keys_text, ORDINARY if keys_text else OPEN, bool(keys_text))
        elif best.offset_cents is None:
            found[written.cents] = (best.facts.keys_text, "not tried", False)
        else:
            found[written.cents] = (best.facts.keys_text, format_cents(best.offset_cents), True)
    return found


def _letter(shown: Sequence[ShownMark]) -> tuple[ShownMark, ...]:
    """Give a letter to each fingering that stands somewhere as one, in the order they come."""
    names = name_letters()
    letters = {
        keys: next(names) for keys in dict.fromkeys(each.keys_text for each in shown
        if not each.is_drawn)
    }  # fmt: skip
    return tuple(
        ShownMark(each.mark, each.instrument, each.keys_text, each.words, each.is_certain,
                  letters.get(each.keys_text, ""))
        for each in shown
    )  # fmt: skip
