"""Note heads of a transcript in the order of time, with their alterations resolved."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from analysis.notation.transcript import NoteHead, PartTranscript, ScoreEvent
from analysis.score.alterations import read_alter
from analysis.score.settings import ReadingSettings
from analysis.score.sign_resolution import (
    ExporterEvidence,
    Place,
    ResolvedSign,
    SignedNote,
    SignResolver,
    Undecided,
    find_evidence,
)
from analysis.score.signs import find_sign

_FIFTHS = "FCGDAEB"


@dataclass(frozen=True, slots=True)
class AlteredHead:
    """A head, what it is altered by, and whether a tie brings it."""

    head: NoteHead
    resolved: ResolvedSign
    is_tied: bool

    @property
    def place(self) -> Place:
        """Where on which staff it stands."""
        return (self.head.staff, self.head.step, self.head.octave)


@dataclass(frozen=True, slots=True)
class HeadReading:
    """All heads of a part in the order of time, with the evidence and what is undecided."""

    heads: tuple[AlteredHead, ...]
    evidence: ExporterEvidence
    undecided: Undecided


class KeySignatures:
    """The keys of a part, by place: what a step is altered by, and what microtones a key has."""

    def __init__(self, events: tuple[ScoreEvent, ...]) -> None:
        self._times: dict[int, list[tuple[int, Fraction]]] = {}
        self._keys: dict[int, list[dict[str, Fraction]]] = {}
        for event in events:
            if event.kind == "key":
                self._begin(event, _alters_of(int(event.value)))
            elif event.kind == "key-alter":
                step, _, alter = event.value.partition(" ")
                cents = read_alter(alter)
                keys = self._keys.get(event.staff)
                if cents is not None and keys:
                    keys[-1][step] = cents

    def _begin(self, event: ScoreEvent, alters: dict[str, Fraction]) -> None:
        self._times.setdefault(event.staff, []).append((event.bar, event.onset))
        self._keys.setdefault(event.staff, []).append(alters)

    def alter_of(self, head: NoteHead, step: str) -> Fraction:
        """Return what the key in force at a head has for a step, in cents."""
        staff = head.staff if head.staff in self._times else 0
        times = self._times.get(staff)
        if not times:
            return Fraction(0)
        at = bisect_right(times, (head.bar, head.onset)) - 1
        return self._keys[staff][at].get(step, Fraction(0)) if at >= 0 else Fraction(0)


def _alters_of(fifths: int) -> dict[str, Fraction]:
    """What a key of so many fifths alters: sharps from F on, flats from B on."""
    if fifths >= 0:
        return {step: Fraction(100) for step in _FIFTHS[:fifths]}
    return {step: Fraction(-100) for step in _FIFTHS[fifths:]}


def read_heads(
    transcript: PartTranscript, settings: ReadingSettings, evidence: ExporterEvidence | None = None
) -> HeadReading:
    """Resolve the alterations of all heads; `evidence` is that of the whole part if known."""
    heads = sorted(transcript.notes, key=lambda head: (head.bar, head.onset))  # stable
    keys = KeySignatures(transcript.events)
    signed = tuple(_sign_heads(heads, keys))
    evidence = evidence or find_evidence(signed)
    resolver = SignResolver(settings, evidence)
    resolved = resolver.resolve(signed)
    return HeadReading(
        tuple(
            AlteredHead(head, each, note.is_tied)
            for head, note, each in zip(heads, signed, resolved, strict=True)
        ),
        evidence,
        resolver.undecided,
    )


def _sign_heads(heads: list[NoteHead], keys: KeySignatures) -> Iterator[SignedNote]:
    """Each head as far as its accidental goes, with the ties that lead to it."""
    open_ties: dict[Place, int] = {}
    for head in heads:
        place = (head.staff, head.step, head.octave)
        tied_from = open_ties.pop(place, None)
        is_tied = tied_from is not None and "tie-stop" in head.marks and tied_from >= head.bar - 1
        if "tie-start" in head.marks:
            open_ties[place] = head.bar
        key_cents = keys.alter_of(head, head.step)
        yield SignedNote(
            bar=head.bar,
            place=place,
            alter_cents=read_alter(head.alter) if head.alter else None,
            sign=find_sign(head.sign),
            is_tied=is_tied,
            voice=head.voice,
            key_cents=key_cents,
            plain_key_cents=key_cents if key_cents % 100 == 0 else Fraction(0),
        )
