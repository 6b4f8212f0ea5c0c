"""Second notes of trills and tremolos.

An accidental printed with a trill is that of the upper note. Without one the upper note is the next
letter as the key and the signs of the bar have it; that is assumed and asked, since many programs
cannot store a microtone there.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from analysis.notation.instrument_names import fold_name
from analysis.notation.transcript import NoteHead, ScoreEvent
from analysis.pitch import PitchOutOfRange, WrittenPitch
from analysis.score.heads import AlteredHead, KeySignatures
from analysis.score.parts import TrillKind
from analysis.score.settings import ReadingSettings
from analysis.score.sign_resolution import ExporterEvidence, Place
from analysis.score.signs import ARROW_CENTS, STROKED_CENTS, SignKind, find_sign
from analysis.score.transposing import PitchMap

_LETTERS = "CDEFGAB"
_TIMBRAL = re.compile(
    r"timbr|tembre|bisbigl|colou?r trill|farbtriller|klangfarb|trille? de (couleur|timbre)"
)
Trill = tuple[TrillKind | None, WrittenPitch | None, bool]
"""The kind, the second note, and whether that is assumed."""


class TrillReader:
    """Reads trills while the heads of a line pass by in the order of time."""

    def __init__(
        self,
        settings: ReadingSettings,
        evidence: ExporterEvidence,
        events: tuple[ScoreEvent, ...],
        pitch_map: PitchMap,
    ) -> None:
        self._answers = {(each.bar, each.onset): each.upper for each in settings.trills}
        self._arrow = settings.arrow_cents or _only(evidence.arrow_sizes) or ARROW_CENTS
        self._stroked = settings.stroked_cents or _only(evidence.stroked_sizes) or STROKED_CENTS
        self._sizes = dict(settings.sign_cents)
        self._keys = KeySignatures(events)
        self._pitch_map = pitch_map
        self._timbral = {
            (event.bar, event.onset)
            for event in events
            if event.kind == "words" and _TIMBRAL.search(fold_name(event.value))
        }
        self._bar = -1
        self._alters: dict[Place, Fraction] = {}

    def pass_group(self, group: Sequence[AlteredHead]) -> None:
        """Remember the signs of the bar."""
        if group[0].head.bar != self._bar:
            self._bar = group[0].head.bar
            self._alters.clear()
        for each in group:
            self._alters[each.place] = each.resolved.alter_cents

    def read_trill(self, group: Sequence[AlteredHead]) -> Trill:
        """Return the trill of a note.

        Of the two notes of a tremolo neither has its second yet: what joins them gives it.
        """
        head = group[0].head
        marks = {mark for each in group for mark in each.head.marks}
        if "tremolo-start" in marks or "tremolo-stop" in marks:
            return TrillKind.TREMOLO, None, False
        answer = self._answers.get((head.bar, head.onset))
        if head.trill_to:
            kind = TrillKind.TREMOLO if "tremolo-pair" in marks else TrillKind.TRILL
            return kind, answer or WrittenPitch.from_canonical(head.trill_to), False
        if "trill" not in marks:
            return None, None, False
        if self._is_timbral(group):
            return TrillKind.TIMBRAL, None, False
        if answer is not None:
            return TrillKind.TRILL, answer, False
        signs = [each.head.trill_sign for each in group if each.head.trill_sign]
        return self._find_upper(head, signs[0] if signs else "")

    def _is_timbral(self, group: Sequence[AlteredHead]) -> bool:
        """Whether words at the note call the trill one of colour."""
        words = " ".join(text for each in group for text in each.head.techniques)
        place = (group[0].head.bar, group[0].head.onset)
        return place in self._timbral or bool(_TIMBRAL.search(fold_name(words)))

    def _find_upper(self, head: NoteHead, sign_name: str) -> Trill:
        letter = _LETTERS.index(head.step) + 1
        step, octave = _LETTERS[letter % 7], head.octave + letter // 7
        place = (head.staff, step, octave)
        cents = self._alters.get(place, self._keys.alter_of(head, step))
        sign = find_sign(sign_name)
        is_assumed = sign is None
        if sign is not None:
            size = sign.size_cents(arrow_cents=self._arrow, stroked_cents=self._stroked)
            size = self._sizes.get(sign.name) if size is None else size
            is_assumed = size is None or sign.kind is SignKind.UNKNOWN
            cents = cents if size is None else size
        try:
            upper = WrittenPitch(step, Fraction(0), octave)
            segment = self._pitch_map.segment_at(head.bar, head.onset)
            return (
                TrillKind.TRILL,
                self._pitch_map.to_written(upper.raised_by(cents), segment),
                is_assumed,
            )
        except PitchOutOfRange:
            return TrillKind.TRILL, None, True


def _only(sizes: frozenset[Fraction]) -> Fraction | None:
    return next(iter(sizes)) if len(sizes) == 1 else None
