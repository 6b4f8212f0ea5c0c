"""Colour and response of a fingering against the player's own ordinary notes nearby.

Evenness is what a player listens for: a quarter tone should be as bright, as hollow, as clean and
as quick as the notes about it. Nearby are the logged and recorded fingerings of the same instrument
and register, three semitones to either side at most, whose keys are ordinary ones for their target.
One that sounds far from its target was another note. Every note counts once, however often it was
recorded: of each the newest takes are pooled first. Takes at any dynamic count; clipped ones do
not, since clipping adds partials.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session, selectinload

from analysis.keywork import KeyStates, format_fingering, hole_signature, ordinary_fingerings
from analysis.pitch import SoundingPitch, register_of
from analysis.recording import (
    DynamicShift,
    PooledColour,
    TakeMeasurement,
    TakeOffset,
    TakeStanding,
    TakeWarning,
    pool_colour,
)
from webapp.drawing.dynamics import DynamicOffset
from webapp.notebook.fingerings.shifts import (
    BaseShift,
    find_dynamic_shifts,
    find_lip_shift,
    pool_by_dynamic,
    shift_from_base,
)
from webapp.notebook.store.rows import Fingering, Take
from webapp.notebook.takes.evidence import correct_for_day

REACH_CENTS = 300.0
NEWEST_TAKES = 5
NEWEST_OWN_TAKES = 30

Note = tuple[float, str]  # written cents and keys


@dataclass(frozen=True, slots=True)
class Aspect:
    """One aspect of colour or response, and how a difference in it is said.

    `field` is its name in `TakeMeasurement`; `reach` is how far its scale goes to either side.
    """

    field: str
    name: str
    unit: str
    decimals: int
    more: str
    less: str
    alike: str
    reach: float

    def write(self, value: float) -> str:
        """Write a value with its unit."""
        return f"{value:.{self.decimals}f} {self.unit}".replace("-", "\N{MINUS SIGN}")


# That strong odd partials sound hollow: Helmholtz, On the Sensations of Tone (from memory).
BRIGHTNESS = Aspect(
    "brightness_partials", "Brightness", "partials", 1, "brighter", "duller", "bright", 2.0
)
ASPECTS = (
    BRIGHTNESS,
    Aspect("odd_even_db", "Odd against even partials", "dB", 0, "hollower", "fuller", "hollow", 20),
    Aspect("breath_noise_db", "Breath noise", "dB", 0, "breathier", "cleaner", "clean", 20),
    Aspect("time_to_speak_s", "Time to speak", "s", 2, "slower", "quicker", "quick", 0.2),
)


@dataclass(frozen=True, slots=True)
class AspectComparison:
    """One aspect of a fingering beside the same of the ordinary notes nearby, if any has it.

    `notes` holds the middle of each note nearby.
    """

    aspect: Aspect
    own: PooledColour
    nearby: PooledColour | None
    notes: tuple[float, ...]

    @property
    def difference(self) -> float | None:
        """How much more of it the fingering has than the notes nearby."""
        return None if self.nearby is None else self.own.middle - self.nearby.middle

    @property
    def is_alike(self) -> bool:
        """Whether the difference is none to a listener of these notes.

        It is within the scatter of the notes nearby themselves, or under one step of the last digit
        that is written.
        """
        if self.nearby is None or self.difference is None:
            return False
        least: float = 10.0**-self.aspect.decimals
        return abs(self.difference) < max(least, self.nearby.spread or 0.0)

    @property
    def words(self) -> str:
        """The comparison in words."""
        if self.nearby is None or self.difference is None:
            return "no ordinary note nearby tells it yet"
        count, aspect = self.nearby.count, self.aspect
        nearby, counted = (
            ("your note nearby", "1 note")
            if count == 1
            else ("your notes nearby", f"{count} notes")
        )
        if self.is_alike:
            return f"as {aspect.alike} as {nearby} ({counted})"
        side = aspect.more if self.difference > 0 else aspect.less
        return f"{side} than {nearby} by {aspect.write(abs(self.difference))} ({counted})"


@dataclass(frozen=True, slots=True)
class TakeComparisons:
    """Everything that a fingering's page sets its measurements against."""

    base_shift: BaseShift | None
    dynamic_shifts: tuple[DynamicShift, ...]
    dynamics: tuple[DynamicOffset, ...]
    lip_shift: TakeOffset | None
    colour: tuple[AspectComparison, ...]

    @property
    def has_notes_nearby(self) -> bool:
        """Whether any ordinary note nearby is measured."""
        return any(each.nearby is not None for each in self.colour)


def compare_takes(
    session: Session, fingering: Fingering, takes: Collection[Take]
) -> TakeComparisons:
    """Compare a fingering with its base, its dynamics and the ordinary notes nearby.

    The instrument of the fingering and the measurements of its takes must be loaded. A few queries,
    whatever the notebook holds.
    """
    offsets = correct_for_day(session, list(takes), SoundingPitch(fingering.target_cents))
    return TakeComparisons(
        base_shift=shift_from_base(session, fingering),
        dynamic_shifts=find_dynamic_shifts(takes, offsets),
        dynamics=pool_by_dynamic(takes, offsets),
        lip_shift=find_lip_shift(fingering, takes, offsets),
        colour=compare_colour(session, fingering, takes),
    )


def compare_colour(
    session: Session, fingering: Fingering, takes: Collection[Take]
) -> tuple[AspectComparison, ...]:
    """Compare what the takes of a fingering tell of its colour with the ordinary notes nearby."""
    own = list(_read_colours(list(takes)[-NEWEST_OWN_TAKES:]))
    if not own:
        return ()
    nearby = _measure_notes_nearby(session, fingering)
    compared = (_compare(aspect, own, nearby) for aspect in ASPECTS)
    return tuple(each for each in compared if each is not None)


def measure_brightness(session: Session, fingering_ids: Collection[int]) -> dict[int, PooledColour]:
    """Pool the brightness of each of some fingerings from its newest takes, in partials.

    Those without a take that tells it are left out.
    """
    found: dict[int, list[float]] = defaultdict(list)
    for take in _load_newest_takes(session, fingering_ids):
        if take.fingering_id is not None:
            found[take.fingering_id] += _read_aspect(BRIGHTNESS, _read_colours([take]))
    return {number: pool_colour(readings) for number, readings in found.items() if readings}


def _compare(
    aspect: Aspect, own: list[TakeMeasurement], nearby: list[list[TakeMeasurement]]
) -> AspectComparison | None:
    readings = _read_aspect(aspect, own)
    if not readings:
        return None
    by_note = (_read_aspect(aspect, note) for note in nearby)
    notes = tuple(pool_colour(note).middle for note in by_note if note)
    return AspectComparison(
        aspect, pool_colour(readings), pool_colour(notes) if notes else None, notes
    )


def _read_aspect(aspect: Aspect, measured: Iterable[TakeMeasurement]) -> list[float]:
    values = (getattr(each, aspect.field) for each in measured)
    return [value for value in values if value is not None]


def _read_colours(takes: Iterable[Take]) -> Iterator[TakeMeasurement]:
    for take in takes:
        if not take.counts:
            continue
        measured = take.measurement.read()
        if TakeWarning.CLIPPED not in measured.warnings:
            yield measured


def _measure_notes_nearby(session: Session, fingering: Fingering) -> list[list[TakeMeasurement]]:
    """Return the newest measurements of each ordinary note nearby, low notes first."""
    notes = {(cents, text): keys for cents, text, keys in _ordinary_notes_nearby(fingering)}
    # few have the same holes; very many may have been logged for these notes, or sound near them
    query = select(
        Fingering.id, Fingering.written_cents, Fingering.keys_text, Fingering.sounding_cents
    ).where(
        Fingering.instrument_id == fingering.instrument_id,
        Fingering.hole_signature.in_({hole_signature(keys) for keys in notes.values()}),
        Fingering.keys_text.in_([text for _, text in notes]),
        Fingering.deleted_at.is_(None),
        Fingering.take_count > 0,
        Fingering.id != fingering.id,
    )
    note_of = {
        number: (cents, keys)
        for number, cents, keys, sounding_cents in session.execute(query)
        if (cents, keys) in notes
        and abs(sounding_cents - fingering.target_cents) <= 2 * REACH_CENTS
    }
    if not note_of:
        return []
    found: dict[Note, list[TakeMeasurement]] = defaultdict(list)
    for take in _load_newest_takes(session, note_of):
        if take.fingering_id is not None:
            found[note_of[take.fingering_id]].extend(_read_colours([take]))
    return [found[note] for note in sorted(found)]


def _ordinary_notes_nearby(fingering: Fingering) -> Iterator[tuple[float, str, KeyStates]]:
    """Find the ordinary notes of the fingering's register within reach of its target.

    Each with its written cents, the text of its keys and the keys.
    """
    kind = fingering.instrument.kind
    target = kind.in_treble_notation(fingering.written)
    for each in ordinary_fingerings(fingering.instrument.layout):
        is_near = abs(each.written.cents - target.cents) <= REACH_CENTS
        if is_near and register_of(each.written) is register_of(target):
            cents = float(kind.from_treble_notation(each.written).cents)
            yield cents, format_fingering(each.fingering), each.fingering


def _load_newest_takes(session: Session, fingering_ids: Collection[int]) -> Iterable[Take]:
    """Return the newest takes of each of these fingerings with their measurements."""
    age = func.row_number().over(
        partition_by=Take.fingering_id, order_by=(Take.recorded_at.desc(), Take.id.desc())
    )
    ranked = (
        select(Take.id, age.label("age"))
        .where(
            Take.fingering_id.in_(fingering_ids),
            Take.deleted_at.is_(None),
            Take.standing == TakeStanding.COUNTS.value,
        )
        .subquery()
    )
    query = (
        select(Take)
        .join(ranked, ranked.c.id == Take.id)
        .where(ranked.c.age <= NEWEST_TAKES)
        .options(selectinload(Take.measurements))
        .order_by(Take.id)
    )
    return session.scalars(query)
