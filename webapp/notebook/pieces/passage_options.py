"""Fingerings that may be played for the notes of a passage, by the one judge.

For each note: what the notebook has that serves it, then all ordinary choices, the variants that
players use for the way to the next note, and predictions where nothing of the player's own is in
tune. What is known to sound elsewhere, not to speak, or is rejected for the note is not among them.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from math import hypot

from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.finder import RankedFingering
from analysis.keywork import KeyStates, Layout, assess_ease, format_fingering, parse_fingering
from analysis.pitch import WrittenPitch, format_cents, register_of
from analysis.planning import Backing, FingeringOption, Played, list_variants
from webapp.notebook.pieces.decisions import Decisions
from webapp.notebook.pieces.needs import PartNeeds
from webapp.notebook.store.rows import Circumstance, FixedFingering, Instrument
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.bases import ordinary_bases
from webapp.notebook.targets.facts import Look, facts_of, load_texts
from webapp.notebook.targets.note_answer import NoteAnswer, Part
from webapp.notebook.targets.standing import Judged, Standing

LOGGED_AT_MOST, PREDICTED_AT_MOST, VARIED_AT_MOST = 4, 3, 2
ORDINARY_SIGMA_CENTS, NOT_TRIED_SIGMA_CENTS, MEASURED_SIGMA_CENTS = 5.0, 15.0, 5.0
ORDINARY, PREDICTED = "ordinary", "predicted"
_KEYS_KEPT = 8192

Predict = Callable[[WrittenPitch, float], Sequence[RankedFingering]]
"""Says what the finder suggests for a note with a tolerance in cents, the best first."""


@dataclass(frozen=True, slots=True)
class NoteOption:
    """A fingering that may be played for a note: what is known of it, and in words.

    `fingering_id` is None where it is not logged.
    """

    option: FingeringOption
    keys_text: str
    words: str
    fingering_id: int | None = None

    @property
    def is_predicted(self) -> bool:
        """Whether it is predicted only."""
        return self.option.backing is Backing.PREDICTED


@dataclass(frozen=True, slots=True)
class NoteOptions:
    """Options of a note, the most obvious first; `plain` is what the analysis takes of them."""

    every: tuple[NoteOption, ...]
    tolerance_cents: float
    plain: tuple[FingeringOption, ...] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "plain", tuple(each.option for each in self.every))

    def find(self, keys: KeyStates) -> int | None:
        """Return the place of an option by its keys."""
        return next((at for at, each in enumerate(self.plain) if each.fingering == keys), None)


class OptionFinder:
    """Finds the options of notes on one instrument, of each note once."""

    def __init__(
        self,
        session: Session,
        instrument: Instrument,
        needs: PartNeeds,
        notes: Sequence[WrittenPitch],
        decisions: Decisions,
        predict: Predict | None,
    ) -> None:
        self._instrument = instrument
        self._decisions = decisions
        self._predict = predict
        self._judge = read_judge_of(session, instrument, notes, Look(is_brief=True))
        self._asked = needs.find_tolerances(self._judge.tolerance_cents)
        self._answers = {each.cents: self._ask(each) for each in notes}
        self._serving = {key: _list_serving(each) for key, each in self._answers.items()}
        self._known_bad = {key: _list_known_bad(each) for key, each in self._answers.items()}
        self._texts = self._load_texts(session)
        self._ordinary: dict[Fraction, list[KeyStates]] = {}
        for base in ordinary_bases(instrument):
            self._ordinary.setdefault(base.written.cents, []).append(base.keys)
        self._found: dict[tuple[Fraction, frozenset[Circumstance]], NoteOptions] = {}
        self.is_asking = False  # whether something was not predicted, since no model is there yet

    def _ask(self, written: WrittenPitch) -> NoteAnswer:
        return self._judge.answer(written, usual_cents=self._asked.get(written.cents))

    def _load_texts(self, session: Session) -> Mapping[int, tuple[str, str]]:
        numbers = {
            each.facts.fingering_id
            for judged in (self._serving, self._known_bad)
            for every in judged.values()
            for each in every
        }
        return load_texts(session, numbers) if numbers else {}

    def find(
        self, written: WrittenPitch, circumstances: frozenset[Circumstance] = frozenset()
    ) -> NoteOptions:
        """Return the options of a note in some circumstances (soft, loud, fast, in a trill).

        What is the player's own in one of them comes before what is their own always.
        """
        mark = written.cents, circumstances & self._said_of(written)
        if mark not in self._found:
            self._found[mark] = self._collect(written, mark[1])
        return self._found[mark]

    def find_fixed(self, written: WrittenPitch, fixed: FixedFingering) -> NoteOption | None:
        """Return what is fixed as an option; None where its keys cannot be read."""
        keys = self._read(fixed.fingering.keys_text)
        if keys is None:
            return None
        judged = self._judge.judge(facts_of(fixed.fingering), self._answers[written.cents].note)
        return self._make_logged(written, judged, keys, is_own=True, has_own=True)

    def _said_of(self, written: WrittenPitch) -> frozenset[Circumstance]:
        """Return the circumstances in which the player has a fingering of their own."""
        words = (each.word for each in self._serving[written.cents])
        return frozenset(one for word in words if word for one in word.circumstances)

    def _collect(
        self, written: WrittenPitch, circumstances: frozenset[Circumstance]
    ) -> NoteOptions:
        answer = self._answers[written.cents]
        serving = self._serving[written.cents]
        own = _choose_own(serving, circumstances) or self._find_composers(written, serving)
        taken = {self._keys_of(each) for each in self._known_bad[written.cents]}
        found: list[NoteOption] = []
        for judged in serving:
            keys = self._keys_of(judged)
            if keys is not None and keys not in taken:
                taken.add(keys)
                is_own = judged.facts.fingering_id in own
                found.append(
                    self._make_logged(written, judged, keys, is_own=is_own, has_own=bool(own))
                )
        for each in (
            *self._list_ordinary(written, has_own=bool(own)),
            *self._list_predicted(written, answer, has_own=bool(own)),
        ):
            if each.option.fingering not in taken:
                taken.add(each.option.fingering)
                found.append(each)
        for each in list(self._list_varied(written, found)):
            if each.option.fingering not in taken:
                taken.add(each.option.fingering)
                found.append(each)
        return NoteOptions(tuple(found), answer.note.tolerance_cents)

    def _find_composers(self, written: WrittenPitch, serving: Sequence[Judged]) -> frozenset[int]:
        """Return the composer's fingerings for a note that wait to be tried: they come first."""
        printed = {each.fingering_id for each in self._decisions.composers_for([written])}
        return frozenset(
            each.facts.fingering_id
            for each in serving
            if each.standing is Standing.NOT_TRIED and each.facts.fingering_id in printed
        )

    def _make_logged(
        self, written: WrittenPitch, judged: Judged, keys: KeyStates, *, is_own: bool, has_own: bool
    ) -> NoteOption:
        facts = judged.facts
        if judged.offset_cents is None:
            is_ordinary = keys in self._ordinary.get(written.cents, ())
            backing = Backing.ORDINARY if is_ordinary else Backing.NOT_TRIED
            sigma = ORDINARY_SIGMA_CENTS if is_ordinary else NOT_TRIED_SIGMA_CENTS
            words = ORDINARY if is_ordinary else Standing.NOT_TRIED.value
            offset = 0.0
        else:
            backing, offset = Backing.MEASURED, judged.offset_cents
            sigma = hypot(facts.uncertainty_cents or MEASURED_SIGMA_CENTS, facts.spread_cents or 0)
            words = f"{judged.standing.value}, {format_cents(offset)}"
        option = FingeringOption(
            played=self._played(written, keys),
            backing=backing,
            offset_cents=offset,
            sigma_cents=sigma,
            ease=facts.ease if facts.ease is not None else _find_ease(keys),
            resistance=facts.resistance,
            speaks_softly=facts.speaks_softly,
            is_own=is_own,
            has_other_own=has_own and not is_own,
        )
        return NoteOption(option, format_fingering(keys), words, facts.fingering_id)

    def _list_ordinary(self, written: WrittenPitch, *, has_own: bool) -> Iterator[NoteOption]:
        for keys in self._ordinary.get(written.cents, ()):
            option = FingeringOption(
                self._played(written, keys), Backing.ORDINARY, 0.0, ORDINARY_SIGMA_CENTS,
                _find_ease(keys), has_other_own=has_own,
            )  # fmt: skip
            yield NoteOption(option, format_fingering(keys), ORDINARY)

    def _list_predicted(
        self, written: WrittenPitch, answer: NoteAnswer, *, has_own: bool
    ) -> Iterator[NoteOption]:
        if answer.is_solved or written.cents in self._ordinary:
            return
        if self._predict is None:
            self.is_asking = True
            return
        for one in list(self._predict(written, answer.note.tolerance_cents))[:PREDICTED_AT_MOST]:
            if one.is_within_reach:
                option = FingeringOption(
                    self._played(written, one.fingering), Backing.PREDICTED, one.offset_cents,
                    one.sigma_cents, one.ease, max(one.chance, one.lip_chance),
                    has_other_own=has_own,
                )  # fmt: skip
                words = f"{PREDICTED} {format_cents(one.offset_cents, decimals=0)}"
                yield NoteOption(option, format_fingering(one.fingering), words)

    def _list_varied(
        self, written: WrittenPitch, known: Sequence[NoteOption]
    ) -> Iterator[NoteOption]:
        register = register_of(self._instrument.kind.in_treble_notation(written))
        plain = [each for each in known if not each.is_predicted][:VARIED_AT_MOST]
        for each in plain:
            base = each.option
            for variant in list_variants(base.fingering, register):
                option = FingeringOption(
                    self._played(written, variant.fingering), Backing.ORDINARY, base.offset_cents,
                    hypot(base.sigma_cents, variant.sigma_cents),
                    _find_ease(variant.fingering), has_other_own=base.has_other_own,
                )  # fmt: skip
                words = f"{variant.words}, not tried"
                yield NoteOption(option, format_fingering(variant.fingering), words)

    def _played(self, written: WrittenPitch, keys: KeyStates) -> Played:
        return Played(keys, float(written.cents))

    def _keys_of(self, judged: Judged) -> KeyStates | None:
        return self._read(self._texts.get(judged.facts.fingering_id, ("", ""))[0])

    def _read(self, text: str) -> KeyStates | None:
        return _read_keys(text, self._instrument.layout) if text else None


@lru_cache(maxsize=_KEYS_KEPT)
def _read_keys(text: str, layout: Layout) -> KeyStates | None:
    try:
        return parse_fingering(text, layout)
    except AnalysisError:
        return None


@lru_cache(maxsize=_KEYS_KEPT)
def _find_ease(keys: KeyStates) -> float:
    return assess_ease(keys).figure


def _list_serving(answer: NoteAnswer) -> list[Judged]:
    """Return the first that may be played for a note."""
    places = answer.order(Part.RANKED)[: 2 * LOGGED_AT_MOST]
    judged = (answer.judged(place) for place in places)
    return [each for each in judged if each.is_serving][:LOGGED_AT_MOST]


def _list_known_bad(answer: NoteAnswer) -> list[Judged]:
    """Return what is known not to serve a note: elsewhere, silent, rejected."""
    places = [place for part in Part for place in answer.order(part)[: 4 * LOGGED_AT_MOST]]
    return [each for each in map(answer.judged, places) if not each.is_serving]


def _choose_own(
    serving: Sequence[Judged], circumstances: frozenset[Circumstance]
) -> frozenset[int]:
    """Return the player's own in some circumstances, else their own always."""
    own = {
        each.facts.fingering_id: frozenset(each.word.circumstances)
        for each in serving
        if each.is_choice and each.word is not None
    }
    here = frozenset(number for number, when in own.items() if when & circumstances)
    always = frozenset(number for number, when in own.items() if Circumstance.ALWAYS in when)
    return here or always
