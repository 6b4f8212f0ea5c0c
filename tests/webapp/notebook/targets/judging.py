"""Facts built by hand, to be judged without a notebook. All of it is invented.

The note is written D5 less a quarter tone on a B-flat soprano, which sounds a whole tone lower than
written (common practice, from memory): 7150 sounding cents.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from analysis.pitch import WrittenPitch
from webapp.notebook.store.rows import Circumstance, Instrument, Role, exact_key
from webapp.notebook.targets.answers import Judge
from webapp.notebook.targets.columns import FactColumns
from webapp.notebook.targets.merit import find_grades
from webapp.notebook.targets.note_answer import Hearing, NoteAnswer, Part
from webapp.notebook.targets.ordered import OrderedFacts
from webapp.notebook.targets.standing import STANDINGS, Facts, Judged, Note, Word, judge, note_of

WRITTEN = WrittenPitch.from_canonical("D5-50c")
SOUNDING_CENTS = 7150.0
INSTRUMENT = Instrument(
    id=1, name="Invented", kind_id="b-flat-soprano", layout_id="soprano-17-6",
    transposition_cents=-200, tuning_a_hz=440.0,
)  # fmt: skip
MINE = Word(Role.MINE, (Circumstance.ALWAYS,))
ALTERNATE = Word(Role.ALTERNATE, reason="brighter")
REJECTED = Word(Role.REJECTED, reason="shrill")


def facts(offset_cents: float | None = 0.0, number: int = 1, **changes: Any) -> Facts:
    """A fingering logged for the note that sounds so far from it; None where it is not tried."""
    known: dict[str, Any] = {
        "fingering_id": number,
        "instrument_id": 1,
        "keys_text": "T R 123 | 12-",
        "target_text": "D5-50c",
        "target_cents": SOUNDING_CENTS,
        "sounding_cents": SOUNDING_CENTS + (offset_cents or 0.0),
        "uncertainty_cents": None if offset_cents is None else 0.5,
        "take_count": 0 if offset_cents is None else 1,
        "failed_take_count": 0,
        "spread_cents": None if offset_cents is None else 1.0,
        "resistance": None,
        "ease": 0.9,
        "has_half_hole": False,
        "does_not_speak": False,
        **changes,
    }
    return Facts(**known)


def elsewhere(target: str, sounding_cents: float, number: int, **changes: Any) -> Facts:
    """A fingering logged for another written note that sounds at these cents."""
    cents = float(WrittenPitch.from_canonical(target).cents) - 200
    return facts(
        0.0, number, target_text=target, target_cents=cents, sounding_cents=sounding_cents,
        **changes,
    )  # fmt: skip


def note(tolerance_cents: float = 10.0, written: WrittenPitch = WRITTEN) -> Note:
    """The note."""
    return note_of(INSTRUMENT, written, tolerance_cents)


def judged(offset_cents: float | None = 0.0, word: Word | None = None, **changes: Any) -> Judged:
    """A fingering as it stands to the note."""
    return judge(facts(offset_cents, **changes), note(), word)


def ask(
    *every: Facts,
    words: Mapping[int, Word] | None = None,
    tolerance_cents: float = 10.0,
    own_tolerance_cents: float | None = None,
    written: WrittenPitch = WRITTEN,
    **look: Any,
) -> NoteAnswer:
    """Ask the judge for the note; the words are on it."""
    return a_judge(
        *every, words=words, tolerance_cents=tolerance_cents,
        own_tolerance_cents=own_tolerance_cents,
    ).answer(written, **look)  # fmt: skip


def a_judge(
    *every: Facts,
    words: Mapping[int, Word] | None = None,
    tolerance_cents: float = 10.0,
    own_tolerance_cents: float | None = None,
) -> Judge:
    """A judge of the invented instrument, with the player's words on the note."""
    key = (1, exact_key(Fraction(7350)))
    own = {} if own_tolerance_cents is None else {key: own_tolerance_cents}
    known = FactColumns.of_facts(every)
    return Judge(INSTRUMENT, OrderedFacts.of(known), {key: dict(words or {})}, own, tolerance_cents)


def answer_of(
    note: Note, ranked: Sequence[Judged] = (), silent: Sequence[Judged] = ()
) -> NoteAnswer:
    """An answer that holds what was judged already."""
    every = [*ranked, *silent]
    known = FactColumns.of_facts(each.facts for each in every)
    standings = np.array([STANDINGS.index(each.standing) for each in every], dtype=np.int8)
    words = {row: each.word for row, each in enumerate(every) if each.word is not None}
    rows = np.arange(len(every))
    parts = {
        Part.RANKED: rows[: len(ranked)], Part.HISTORY: rows[:0], Part.SILENT: rows[len(ranked) :],
    }  # fmt: skip
    return NoteAnswer(Hearing(note, known, find_grades(known), standings, words), parts, ())


def numbers(ranked: tuple[Judged, ...]) -> list[int]:
    """The numbers of fingerings in their order."""
    return [each.facts.fingering_id for each in ranked]
