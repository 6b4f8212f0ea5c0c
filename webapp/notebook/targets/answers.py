"""Answer of the notebook to a note: ranked, with the reason for the first, and what is apart.

Every page and command that says whether a note is solved, and by which fingering, asks here.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property

import numpy as np
from sqlalchemy import ColumnElement
from sqlalchemy.orm import Session

from analysis.finder.inputs import USUAL_LIP, PlayersLip
from analysis.pitch import Sentence, SoundingPitch, WrittenPitch, format_cents
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.rows import Instrument, Role, exact_key
from webapp.notebook.targets.choices import describe_word
from webapp.notebook.targets.facts import (
    EVERYTHING,
    Look,
    Words,
    load_columns,
    load_tolerances,
    load_words,
    words_of,
)
from webapp.notebook.targets.note_answer import Hearing, NoteAnswer, Part, Places, words_by_row
from webapp.notebook.targets.ordered import OrderedFacts
from webapp.notebook.targets.standing import (
    STANDINGS,
    Facts,
    Judged,
    Note,
    Standing,
    Word,
    find_standings,
    judge,
    note_of,
    round_as_shown,
)


class Judge:
    """Judges notes of one instrument, everything that it needs read once."""

    def __init__(
        self,
        instrument: Instrument,
        facts: OrderedFacts,
        words: Words,
        tolerances: dict[tuple[int, str], float],
        tolerance_cents: float,
        lip: PlayersLip = USUAL_LIP,
    ) -> None:
        self._instrument = instrument
        self._lip = lip
        self._words = words
        self._tolerances = tolerances
        self.tolerance_cents = tolerance_cents
        self._ordered = facts
        self._known = facts.known

    @cached_property
    def facts(self) -> tuple[Facts, ...]:
        """All that was read, by pitch."""
        return tuple(map(self._known.facts, range(len(self._known))))

    def own_tolerance(self, written: WrittenPitch) -> float | None:
        """Return the tolerance that the player keeps for a note, in cents, or None."""
        return self._tolerances.get((self._instrument.id, exact_key(written.cents)))

    def note(self, written: WrittenPitch, usual_cents: float | None = None) -> Note:
        """Return a note with what counts as in tune for it.

        `usual_cents` takes the place of the player's usual tolerance, not of the note's own.
        """
        own, usual = self.own_tolerance(written), usual_cents or self.tolerance_cents
        return note_of(self._instrument, written, own or usual, self._lip)

    def answer(
        self,
        written: WrittenPitch,
        *,
        width_cents: float = 0.0,
        is_choice_only: bool = False,
        usual_cents: float | None = None,
    ) -> NoteAnswer:
        """Say what there is for a note; what sounds within `width_cents` of it is added.

        With `is_choice_only` everything but the player's own for this very note is left out;
        `usual_cents` as in `note`.
        """
        note = self.note(written, usual_cents)
        words = words_of(self._words, self._instrument.id, note.exact_cents)
        if is_choice_only:
            words = {number: word for number, word in words.items() if word.role is Role.MINE}
        near = self._near(note, width_cents, words, is_choice_only=is_choice_only)
        hearing = self._hear(note, near, words)
        in_tune, is_near, elsewhere, not_tried, silent = (
            hearing.standings == number for number in range(len(STANDINGS))
        )
        known = hearing.known
        away = round_as_shown(np.abs(known.column("sounding_cents") - note.sounding.cents))
        aside = round_as_shown(np.abs(known.column("target_cents") - note.sounding.cents))
        is_said = np.zeros(len(known), dtype=bool)
        is_said[list(hearing.words)] = True
        is_own = np.zeros(len(known), dtype=bool)
        is_own[[row for row, word in hearing.words.items() if word.role is Role.MINE]] = True
        reach = max(note.tolerance_cents, width_cents)
        is_hit = (
            in_tune
            | is_near
            | (not_tried & ((away <= reach) | is_own))
            | (elsewhere & (away <= width_cents))
        )
        # logged for the note, or the player said something of it for the note
        is_history = elsewhere & ~is_hit & (is_said | (aside <= note.tolerance_cents))
        is_silent = silent & (is_said | (aside <= reach))
        parts = {Part.RANKED: is_hit, Part.HISTORY: is_history, Part.SILENT: is_silent}
        places = {part: np.flatnonzero(is_there) for part, is_there in parts.items()}
        return NoteAnswer(hearing, places, tuple(self._remark(hearing)))

    def _hear(self, note: Note, rows: Places, words: Mapping[int, Word]) -> Hearing:
        known = self._known.take(rows)
        offsets = known.offsets_from(note.sounding.cents)
        standings = find_standings(offsets, known.does_not_speak, note)
        here = words_by_row(words, known.numbers.tolist())
        return Hearing(note, known, self._ordered.grades[rows], standings, here)

    def judge(self, facts: Facts, note: Note) -> Judged:
        """Say how one fingering stands to a note, the player's word with it."""
        words = words_of(self._words, self._instrument.id, note.exact_cents)
        return judge(facts, note, words.get(facts.fingering_id))

    def find_nearest(self, note: Note, within_cents: float) -> Judged | None:
        """Return what speaks nearest to a note and is not rejected for it; None if nothing is near.

        Where it is measured to sound counts, else where it is meant to; the lower of two as near.
        """
        away_cents = np.abs(self._ordered.sounds - note.sounding.cents)
        for row in np.argsort(away_cents, kind="stable").tolist():
            if away_cents[row] > within_cents:
                return None
            judged = self.judge(self._known.facts(row), note)
            if judged.standing is not Standing.SILENT and not judged.is_rejected:
                return judged
        return None

    def place_all(self) -> list[tuple[WrittenPitch, Facts]]:
        """Return all that was read, by pitch, each with the note that it belongs to.

        That is the one it was logged for, unless it sounds elsewhere: then the quarter tone that
        is nearest to where it sounds.
        """
        targets: dict[str, list[int]] = {}
        for row, each in enumerate(self.facts):
            targets.setdefault(each.target_text, []).append(row)
        places: list[WrittenPitch | None] = [None] * len(self.facts)
        for text, rows in targets.items():
            meant = WrittenPitch.from_canonical(text)
            hearing = self._hear(self.note(meant), np.array(rows), {})
            for row, standing in zip(rows, hearing.standings, strict=True):
                if STANDINGS[standing] is not Standing.ELSEWHERE:
                    places[row] = meant
        return [
            (place or self._instrument.nearest_written(SoundingPitch(each.sounding_cents)), each)
            for place, each in zip(places, self.facts, strict=True)
        ]

    def _near(
        self, note: Note, width_cents: float, words: Mapping[int, Word], *, is_choice_only: bool
    ) -> Places:
        """Return what could matter: what sounds near the note, was logged for it, or is chosen."""
        chosen = self._ordered.places_of(words)
        if is_choice_only:
            return np.unique(chosen)
        centre = note.sounding.cents
        low = centre - max(note.tolerance_cents, note.reach.flat_cents, width_cents)
        high = centre + max(note.tolerance_cents, note.reach.sharp_cents, width_cents)
        first, end = np.searchsorted(self._ordered.sounds, (low - 0.1, high + 0.1))
        reach = max(note.tolerance_cents, width_cents) + 0.1
        ends = np.searchsorted(self._ordered.targets, (centre - reach, centre + reach))
        meant = self._ordered.by_target[ends[0] : ends[1]]
        beyond = meant[(meant < first) | (meant >= end)]
        near = np.arange(first, end)
        if len(chosen):
            return np.unique(np.concatenate((near, beyond, chosen)))
        return np.sort(np.concatenate((near, beyond))) if len(beyond) else near

    def _remark(self, hearing: Hearing) -> Iterable[Sentence]:
        """Say what has become of the player's choices for a note."""
        own = [row for row, word in hearing.words.items() if word.role is Role.MINE]
        if not own:
            return
        every = hearing.sort_alike(np.arange(len(hearing.known)))
        has_others = any(each.is_solution and not each.is_choice for each, _ in every)
        for each in map(hearing.judged, sorted(own)):
            name = _name_choice(each)
            if each.standing is Standing.SILENT:
                yield Sentence(f"{name} is noted as not speaking, so it no longer comes first.")
            elif each.standing is Standing.ELSEWHERE:
                sounds = sounds_as(self._instrument, each.facts.sounding_cents)
                yield Sentence(f"{name} sounds ", sounds, ", so it no longer comes first.")
            elif each.standing is Standing.NEAR and has_others:
                offset = format_cents(each.offset_cents or 0.0)
                yield Sentence(f"{name} lies {offset} cents off; another fingering is in tune.")
            elif each.standing is Standing.NOT_TRIED and has_others:
                yield Sentence(f"{name} is not tried; another fingering is in tune.")

    def find_choices(self) -> list[tuple[WrittenPitch, Facts]]:
        """Return every fingering that is the player's own, each with the note it is theirs for."""
        return [
            (WrittenPitch.from_cents(Fraction(key)), self._known.facts(place))
            for (instrument_id, key), words in self._words.items()
            for number, word in words.items()
            if instrument_id == self._instrument.id and word.role is Role.MINE
            for place in self._ordered.places_of([number]).tolist()
        ]

    def count_outside(self, low: WrittenPitch, high: WrittenPitch, half_step_cents: float) -> int:
        """Count what sounds more than half a step below the lowest or above the highest note."""
        transposition = self._instrument.transposition
        first = transposition.to_sounding(low).cents - half_step_cents
        last = transposition.to_sounding(high).cents + half_step_cents
        places = np.searchsorted(self._ordered.sounds, (first, last))
        return len(self._ordered.sounds) - int(places[1] - places[0])


def _name_choice(judged: Judged) -> str:
    words = describe_word(judged.word) if judged.word else ""
    return f"{words[:1].upper()}{words[1:]}"


def sounds_as(instrument: Instrument, sounding_cents: float) -> Sentence:
    """Name a sounding pitch as written on an instrument, the nearest quarter tone and what is left.

    For example `D quarter-flat 5 +7`; `sounding_cents` has A4 = 6900.
    """
    written = instrument.nearest_written(SoundingPitch(sounding_cents))
    left = round(sounding_cents - instrument.transposition.to_sounding(written).cents)
    return Sentence(written, f" {format_cents(left, decimals=0)}" if left else "")


def read_judge(
    session: Session,
    instrument: Instrument,
    wanted: Iterable[ColumnElement[bool]] = (),
    look: Look = EVERYTHING,
) -> Judge:
    """Read what is logged on an instrument, as far as it passes some filters, to be judged."""
    return read_judges(session, [instrument], wanted, look)[instrument.id]


def read_judge_of(
    session: Session, instrument: Instrument, notes: Iterable[WrittenPitch], look: Look = EVERYTHING
) -> Judge:
    """Read what is logged on an instrument, as far as it can matter for some notes."""
    soundings = tuple(instrument.transposition.to_sounding(each) for each in dict.fromkeys(notes))
    return read_judge(session, instrument, look=replace(look, soundings=soundings))


def answer_note(session: Session, instrument: Instrument, written: WrittenPitch) -> NoteAnswer:
    """Say what there is for one note; only what can matter for it is read."""
    return read_judge_of(session, instrument, [written]).answer(written)


def read_judges(
    session: Session,
    instruments: Sequence[Instrument],
    wanted: Iterable[ColumnElement[bool]] = (),
    look: Look = EVERYTHING,
) -> dict[int, Judge]:
    """Read what is logged on some instruments; the number of queries does not grow with them."""
    ids = [each.id for each in instruments]
    known = load_columns(session, instruments, wanted, look)
    words, tolerances = load_words(session, ids), load_tolerances(session, ids)
    writing = find_preferences(session)
    return {
        each.id: Judge(
            each, known[each.id], words, tolerances, writing.tolerance_cents, writing.lip
        )
        for each in instruments
    }
