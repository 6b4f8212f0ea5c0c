"""Answer of the notebook to a note: ranked, with the reason for the first, and what is apart.

Every page and command that says whether a note is solved, and by which fingering, asks here.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy import ColumnElement
from sqlalchemy.orm import Session

from analysis.pitch import (
    NoteNames,
    SoundingPitch,
    WrittenPitch,
    format_cents,
    format_pitch,
)
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.rows import Fingering, Instrument, Role, exact_key
from webapp.notebook.targets.choices import describe_word
from webapp.notebook.targets.facts import (
    Words,
    load_facts,
    load_tolerances,
    load_words,
    may_matter,
    words_of,
)
from webapp.notebook.targets.merit import explain_first, rank
from webapp.notebook.targets.standing import (
    SERVING,
    Facts,
    Judged,
    Note,
    Standing,
    judge,
    note_of,
)


@dataclass(frozen=True, slots=True)
class NoteAnswer:
    """What the notebook has for a note on one instrument.

    `ranked` holds what may be played for it and what a wider look adds, the best first;
    `history` what was logged for it and sounds elsewhere; `silent` what was logged for it, or as
    near as the look is wide, and does not speak. `reason` says why the first is first, `remarks`
    what has become of the player's choices.
    """

    note: Note
    ranked: tuple[Judged, ...] = ()
    history: tuple[Judged, ...] = ()
    silent: tuple[Judged, ...] = ()
    reason: str = ""
    remarks: tuple[str, ...] = ()

    @property
    def best(self) -> Judged | None:
        """The first that may be played for the note, or None where there is none."""
        first = self.ranked[0] if self.ranked else None
        if first is None or first.is_rejected or first.standing not in SERVING:
            return None
        return first

    @property
    def is_solved(self) -> bool:
        """Whether the note is solved: something is in tune, or the player's own is near."""
        return any(each.is_solution for each in self.ranked)

    @property
    def serving(self) -> tuple[Judged, ...]:
        """What may be played for the note, rejected ones left out."""
        return tuple(
            each for each in self.ranked if each.standing in SERVING and not each.is_rejected
        )


class Judge:
    """Judges notes of one instrument, everything that it needs read once."""

    def __init__(
        self,
        instrument: Instrument,
        facts: Sequence[Facts],
        words: Words,
        tolerances: dict[tuple[int, str], float],
        tolerance_cents: float,
        names: NoteNames = NoteNames.ENGLISH,
    ) -> None:
        self._instrument = instrument
        self._words = words
        self._tolerances = tolerances
        self.tolerance_cents = tolerance_cents
        self._names = names
        self.facts = tuple(facts)
        self._by_sound = sorted(facts, key=lambda each: each.sounding_cents)
        self._sounds = [each.sounding_cents for each in self._by_sound]
        self._by_target = sorted(facts, key=lambda each: each.target_cents)
        self._targets = [each.target_cents for each in self._by_target]

    def note(self, written: WrittenPitch) -> Note:
        """Return a note with what counts as in tune for it."""
        own = self._tolerances.get((self._instrument.id, exact_key(written.cents)))
        return note_of(self._instrument, written, own or self.tolerance_cents)

    def answer(
        self, written: WrittenPitch, *, width_cents: float = 0.0, is_choice_only: bool = False
    ) -> NoteAnswer:
        """Say what there is for a note; what sounds within `width_cents` of it is added.

        With `is_choice_only` everything but the player's own for this very note is left out.
        """
        note = self.note(written)
        words = words_of(self._words, self._instrument.id, note.exact_cents)
        judged = [
            judge(each, note, words.get(each.fingering_id))
            for each in self._near(note, width_cents)
        ]
        if is_choice_only:
            judged = [each for each in judged if each.is_choice]
        ranked = rank((each for each in judged if self._is_hit(each, note, width_cents)), note)
        silent_reach = max(note.tolerance_cents, width_cents)
        silent = [
            each
            for each in judged
            if each.standing is Standing.SILENT and _is_meant(each, note, silent_reach)
        ]
        shown = {each.facts.fingering_id for each in ranked}
        history = [
            each
            for each in judged
            if each.standing is Standing.ELSEWHERE
            and each.facts.fingering_id not in shown
            and _is_meant(each, note, note.tolerance_cents)
        ]
        return NoteAnswer(
            note,
            ranked,
            rank(history, note),
            rank(silent, note),
            explain_first(ranked, note),
            tuple(self._remark(judged, note)),
        )

    def judge(self, facts: Facts, note: Note) -> Judged:
        """Say how one fingering stands to a note, the player's word with it."""
        words = words_of(self._words, self._instrument.id, note.exact_cents)
        return judge(facts, note, words.get(facts.fingering_id))

    def place(self, facts: Facts) -> WrittenPitch:
        """Return the note that a fingering belongs to.

        That is the one it was logged for, unless it sounds elsewhere: then the quarter tone that
        is nearest to where it sounds.
        """
        meant = WrittenPitch.from_canonical(facts.target_text)
        if judge(facts, self.note(meant)).standing is not Standing.ELSEWHERE:
            return meant
        return self._instrument.nearest_written(SoundingPitch(facts.sounding_cents))

    def _near(self, note: Note, width_cents: float) -> list[Facts]:
        """Return what could matter: what sounds near the note, was logged for it, or is chosen."""
        centre = note.sounding.cents
        low = centre - max(note.tolerance_cents, note.reach.flat_cents, width_cents)
        high = centre + max(note.tolerance_cents, note.reach.sharp_cents, width_cents)
        near = self._by_sound[
            bisect_left(self._sounds, low - 0.1) : bisect_right(self._sounds, high + 0.1)
        ]
        words = words_of(self._words, self._instrument.id, note.exact_cents)
        reach = max(note.tolerance_cents, width_cents) + 0.1
        meant = self._by_target[
            bisect_left(self._targets, centre - reach) : bisect_right(self._targets, centre + reach)
        ]
        chosen = (each for each in self._by_sound if each.fingering_id in words) if words else ()
        return list({each.fingering_id: each for each in (*near, *meant, *chosen)}.values())

    def _is_hit(self, judged: Judged, note: Note, width_cents: float) -> bool:
        if judged.standing is Standing.SILENT:
            return False
        if judged.standing in (Standing.IN_TUNE, Standing.NEAR):
            return True
        away = round(abs(judged.facts.sounding_cents - note.sounding.cents), 1)
        if judged.standing is Standing.NOT_TRIED:
            is_meant = away <= note.tolerance_cents
            return is_meant or judged.is_choice or away <= width_cents
        return away <= width_cents

    def _remark(self, judged: Iterable[Judged], note: Note) -> Iterable[str]:
        """Say what has become of the player's choices for a note."""
        every = list(judged)
        others = [each for each in every if each.is_solution and not each.is_choice]
        for each in every:
            if not each.is_choice:
                continue
            own = _name_choice(each)
            if each.standing is Standing.SILENT:
                yield f"{own} is noted as not speaking, so it no longer comes first."
            elif each.standing is Standing.ELSEWHERE:
                sounds = sounds_as(self._instrument, each.facts.sounding_cents, self._names)
                yield f"{own} sounds {sounds}, so it no longer comes first."
            elif each.standing is Standing.NEAR and others:
                offset = format_cents(each.offset_cents or 0.0)
                yield f"{own} lies {offset} cents off; another fingering is in tune."
            elif each.standing is Standing.NOT_TRIED and others:
                yield f"{own} is not measured yet; another fingering is in tune."

    def find_choices(self) -> list[tuple[WrittenPitch, Facts]]:
        """Return every fingering that is the player's own, each with the note it is theirs for."""
        by_number = {each.fingering_id: each for each in self.facts}
        return [
            (WrittenPitch.from_cents(Fraction(key)), by_number[number])
            for (instrument_id, key), words in self._words.items()
            for number, word in words.items()
            if instrument_id == self._instrument.id
            and word.role is Role.MINE
            and number in by_number
        ]

    def count_outside(self, low: WrittenPitch, high: WrittenPitch, half_step_cents: float) -> int:
        """Count what sounds more than half a step below the lowest or above the highest note."""
        transposition = self._instrument.transposition
        first = transposition.to_sounding(low).cents - half_step_cents
        last = transposition.to_sounding(high).cents + half_step_cents
        inside = bisect_left(self._sounds, last) - bisect_left(self._sounds, first)
        return len(self._sounds) - inside


def _is_meant(judged: Judged, note: Note, reach_cents: float) -> bool:
    """Whether the player logged it for the note, or said something of it for the note."""
    away = round(abs(judged.facts.target_cents - note.sounding.cents), 1)
    return judged.word is not None or away <= reach_cents


def _name_choice(judged: Judged) -> str:
    words = describe_word(judged.word) if judged.word else ""
    return f"{words[:1].upper()}{words[1:]}"


def sounds_as(
    instrument: Instrument, sounding_cents: float, names: NoteNames = NoteNames.ENGLISH
) -> str:
    """Name a sounding pitch as written on an instrument, the nearest quarter tone and what is left.

    For example `D quarter-flat 5 +7`.
    """
    written = instrument.nearest_written(SoundingPitch(sounding_cents))
    left = round(sounding_cents - instrument.transposition.to_sounding(written).cents)
    name = format_pitch(written, names=names)
    return f"{name} {format_cents(left, decimals=0)}" if left else name


def read_judge(
    session: Session, instrument: Instrument, wanted: Iterable[ColumnElement[bool]] = ()
) -> Judge:
    """Read all that is logged on an instrument, as far as it passes some filters, to be judged."""
    return read_judges(session, [instrument], wanted)[instrument.id]


def answer_note(session: Session, instrument: Instrument, written: WrittenPitch) -> NoteAnswer:
    """Say what there is for one note; only what can matter for it is read."""
    sounding = instrument.transposition.to_sounding(written)
    return read_judge(session, instrument, [may_matter(sounding)]).answer(written)


def read_judges(
    session: Session, instruments: Sequence[Instrument], wanted: Iterable[ColumnElement[bool]] = ()
) -> dict[int, Judge]:
    """Read what is logged on some instruments; the number of queries does not grow with them."""
    ids = [each.id for each in instruments]
    found: dict[int, list[Facts]] = {number: [] for number in ids}
    for facts in load_facts(session, [Fingering.instrument_id.in_(ids), *wanted]):
        found[facts.instrument_id].append(facts)
    words, tolerances = load_words(session, ids), load_tolerances(session, ids)
    writing = find_preferences(session)
    return {
        each.id: Judge(
            each, found[each.id], words, tolerances, writing.tolerance_cents, writing.names
        )
        for each in instruments
    }
