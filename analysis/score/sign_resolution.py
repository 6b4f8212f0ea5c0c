"""Resolution of accidentals: what each note head of a part is altered by, from alter and sign.

Exporters differ: some write every alteration in `alter`; some write a microtone there only on the
note that carries the sign, or for a few signs only; some round it. So one note alone is often
undecidable, and what the part's other notes show (`ExporterEvidence`) decides for all of it. The
order:

1. a microtone in `alter` is taken, whatever the sign says;
2. else a microtonal sign is taken where its size is known (stated, shown by other notes, or told);
3. else, without a sign, a tie brings the pitch of the note before it;
4. else, where a microtonal sign stood earlier in the bar on the same staff, step and octave, the
   bar's memory decides by the rule that the player chose, unless the exporter is faithful;
5. else `alter` is taken.

The convention that a sign holds through its bar, in its octave only, is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from analysis.score.alterations import is_microtone
from analysis.score.settings import ReadingSettings, SignLasts
from analysis.score.signs import ARROW_CENTS, STROKED_CENTS, ScoreSign, SignKind

Place = tuple[int, str, int]
"""Staff, step and octave: where a sign holds."""
_NATURAL = Fraction(0)


class SignFlag(StrEnum):
    """How the alteration of a note was found, where it is not plain."""

    UNPRINTED = "sounds, but nothing is printed"
    FROM_SIGN = "from the sign, the file states no microtone"
    SIGN_OVER_ROUNDED = "from the sign, the file states a rounded pitch"
    DISAGREES = "sign and pitch disagree, the pitch is taken"
    ARROW_BY_OTHERS = "size of the arrow as on other notes"
    ARROW_ASSUMED = "size of the arrow is assumed"
    STROKED_ASSUMED = "size of the stroked sign is assumed"
    UNKNOWN_SIGN = "the sign is not known, the pitch is taken without it"
    FROM_BAR = "from a sign earlier in the bar"
    BAR_ASSUMED = "from a sign earlier in the bar, which is assumed to hold"
    KEY_LEFT_OUT = "the key has a microtone here, the pitch is taken without it"


@dataclass(frozen=True, slots=True)
class SignedNote:
    """A note head as far as its accidental goes, in the order of time.

    `alter_cents` is what the file states, None if nothing; `sign` what is printed; `is_tied` that
    a tie comes from the head before it at the same place; `key_cents` what a key of microtones has
    for its step, `plain_key_cents` what the key signature has.
    """

    bar: int
    place: Place
    alter_cents: Fraction | None
    sign: ScoreSign | None
    is_tied: bool = False
    voice: str = "1"
    key_cents: Fraction | None = None
    plain_key_cents: Fraction = _NATURAL

    @property
    def stated_cents(self) -> Fraction:
        """What the file states, natural if nothing."""
        return _NATURAL if self.alter_cents is None else self.alter_cents


@dataclass(frozen=True, slots=True)
class ResolvedSign:
    """The alteration of a note, in cents from the natural, and how it was found."""

    alter_cents: Fraction
    flags: tuple[SignFlag, ...] = ()


@dataclass(frozen=True, slots=True)
class ExporterEvidence:
    """What all notes of a part show about its exporter.

    `is_faithful`: some note without a sign carries its microtone. `arrow_sizes` and
    `stroked_sizes` are the sizes in cents that arrows and stroked signs have where `alter` tells.
    """

    is_faithful: bool
    arrow_sizes: frozenset[Fraction]
    stroked_sizes: frozenset[Fraction]


@dataclass(frozen=True, slots=True)
class Undecided:
    """Indices of the notes whose alteration hangs on an answer, by the question."""

    arrows: tuple[int, ...] = ()
    stroked: tuple[int, ...] = ()
    unknown: tuple[int, ...] = ()
    sign_lasts: tuple[int, ...] = ()


@dataclass(slots=True)
class _Memory:
    """The signs of one bar: by place, the note that carried one, and what it came to."""

    bar: int = -1
    signs: dict[Place, tuple[SignedNote, Fraction]] = field(default_factory=dict)
    last_places: dict[str, Place] = field(default_factory=dict)

    def enter(self, bar: int) -> None:
        if bar != self.bar:
            self.bar = bar
            self.signs.clear()
            self.last_places.clear()


def find_evidence(notes: Iterable[SignedNote]) -> ExporterEvidence:
    """Look at all notes of a part for what they show about its exporter."""
    is_faithful = False
    arrows: set[Fraction] = set()
    stroked: set[Fraction] = set()
    for note in notes:
        if note.alter_cents is None or not is_microtone(note.alter_cents):
            continue
        if note.sign is None:
            is_faithful = True
        elif note.sign.kind is SignKind.ARROW:
            arrows.add((note.alter_cents - note.sign.cents) * note.sign.arrow)
        elif note.sign.kind is SignKind.STROKED:
            stroked.add(note.alter_cents * note.sign.arrow)
    return ExporterEvidence(is_faithful, frozenset(arrows), frozenset(stroked))


class SignResolver:
    """Resolves the accidentals of one part under given settings and evidence."""

    def __init__(self, settings: ReadingSettings, evidence: ExporterEvidence) -> None:
        self._settings = settings
        self._evidence = evidence
        self._sizes: Mapping[str, Fraction] = dict(settings.sign_cents)
        self._memory = _Memory()
        self._tied: dict[Place, Fraction] = {}
        self._undecided: dict[str, list[int]] = {
            name: [] for name in ("arrows", "stroked", "unknown", "sign_lasts")
        }

    def resolve(self, notes: Sequence[SignedNote]) -> tuple[ResolvedSign, ...]:
        """Return the alteration of each note; they must be in the order of time."""
        resolved = []
        for index, note in enumerate(notes):
            self._memory.enter(note.bar)
            found = self._resolve_one(index, note)
            if note.sign is not None:
                self._memory.signs[note.place] = (note, found.alter_cents)
            self._tied[note.place] = found.alter_cents
            self._memory.last_places[note.voice] = note.place
            resolved.append(found)
        return tuple(resolved)

    @property
    def undecided(self) -> Undecided:
        """The notes that hang on an answer, of what has been resolved."""
        return Undecided(**{name: tuple(found) for name, found in self._undecided.items()})

    def _resolve_one(self, index: int, note: SignedNote) -> ResolvedSign:
        if note.is_tied and note.sign is None and note.place in self._tied:
            return ResolvedSign(self._tied[note.place])
        if note.alter_cents is not None and is_microtone(note.alter_cents):
            return self._take_alter(note, note.alter_cents)
        if note.sign is not None:
            return self._take_sign(index, note, note.sign)
        return self._take_unsigned(index, note)

    def _take_alter(self, note: SignedNote, alter_cents: Fraction) -> ResolvedSign:
        if note.sign is None:
            held = self._memory.signs.get(note.place)
            is_explained = held is not None and held[1] == alter_cents
            is_explained = is_explained or note.key_cents == alter_cents
            return ResolvedSign(alter_cents, () if is_explained else (SignFlag.UNPRINTED,))
        has_size = note.sign.kind in (SignKind.PLAIN, SignKind.STATED)
        # a sign of a few cents of another size is another school's, not a contradiction
        if has_size and abs(note.sign.cents - alter_cents) > 30:
            return ResolvedSign(alter_cents, (SignFlag.DISAGREES,))
        return ResolvedSign(alter_cents)

    def _take_sign(self, index: int, note: SignedNote, sign: ScoreSign) -> ResolvedSign:
        """Take the sign where the file states whole semitones only."""
        stated = note.stated_cents
        if sign.kind is SignKind.PLAIN:
            if note.alter_cents is None and sign.cents:
                return ResolvedSign(sign.cents, (SignFlag.FROM_SIGN,))
            return ResolvedSign(stated, () if stated == sign.cents else (SignFlag.DISAGREES,))
        if sign.kind is SignKind.STATED:
            is_unstated = stated == 0 or note.alter_cents is None
            flag = SignFlag.FROM_SIGN if is_unstated else SignFlag.SIGN_OVER_ROUNDED
            return ResolvedSign(sign.cents, (flag,))
        if sign.kind is SignKind.UNKNOWN:
            if sign.name in self._sizes:
                return ResolvedSign(self._sizes[sign.name], (SignFlag.FROM_SIGN,))
            self._undecided["unknown"].append(index)
            return ResolvedSign(stated, (SignFlag.UNKNOWN_SIGN,))
        return self._take_school_sign(index, sign)

    def _take_school_sign(self, index: int, sign: ScoreSign) -> ResolvedSign:
        """An arrow or a stroked sign without its size in the file."""
        is_arrow = sign.kind is SignKind.ARROW
        told = self._settings.arrow_cents if is_arrow else self._settings.stroked_cents
        shown = self._evidence.arrow_sizes if is_arrow else self._evidence.stroked_sizes
        if told is not None:
            size, flag = told, SignFlag.FROM_SIGN
        elif len(shown) == 1:
            (size,) = shown
            flag = SignFlag.ARROW_BY_OTHERS if is_arrow else SignFlag.FROM_SIGN
        else:
            self._undecided["arrows" if is_arrow else "stroked"].append(index)
            size = ARROW_CENTS if is_arrow else STROKED_CENTS
            flag = SignFlag.ARROW_ASSUMED if is_arrow else SignFlag.STROKED_ASSUMED
        return ResolvedSign(
            sign.cents + sign.arrow * size if is_arrow else sign.arrow * size, (flag,)
        )

    def _take_unsigned(self, index: int, note: SignedNote) -> ResolvedSign:
        held = self._memory.signs.get(note.place)
        if held is None or not is_microtone(held[1]):
            return self._take_key(index, note)
        carrier, held_cents = held
        rule = self._settings.sign_lasts
        # an exporter that rounds, and repeats what it rounded, keeps to the bar's memory itself
        is_rounded = (
            note.alter_cents is not None
            and note.alter_cents == carrier.alter_cents
            and note.alter_cents not in (_NATURAL, note.plain_key_cents)
        )
        if rule is None and self._evidence.is_faithful:
            return ResolvedSign(note.stated_cents)
        if rule is None and is_rounded:
            return ResolvedSign(held_cents, (SignFlag.FROM_BAR,))
        self._undecided["sign_lasts"].append(index)
        if rule is None:
            return ResolvedSign(held_cents, (SignFlag.BAR_ASSUMED,))
        if rule is SignLasts.BAR or (
            rule is SignLasts.REPETITIONS
            and self._memory.last_places.get(note.voice) == note.place
            and self._tied[note.place] == held_cents
        ):
            return ResolvedSign(held_cents, (SignFlag.FROM_BAR,))
        return ResolvedSign(note.plain_key_cents if is_rounded else note.stated_cents)

    def _take_key(self, index: int, note: SignedNote) -> ResolvedSign:
        """A key of microtones: never followed unless the player said that signs hold."""
        has_microtone = note.key_cents is not None and is_microtone(note.key_cents)
        if not has_microtone or self._evidence.is_faithful or note.place in self._memory.signs:
            return ResolvedSign(note.stated_cents)
        self._undecided["sign_lasts"].append(index)
        if self._settings.sign_lasts is SignLasts.BAR and note.key_cents is not None:
            return ResolvedSign(note.key_cents, (SignFlag.FROM_BAR,))
        return ResolvedSign(note.stated_cents, (SignFlag.KEY_LEFT_OUT,))
