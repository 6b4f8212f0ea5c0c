"""Choice of one line where a part has several voices or two players on a staff.

Voices are never merged. Where two stand in one bar, the player says which is theirs; the others are
left out and counted. Voices that never stand in one bar together are one line.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from analysis.notation.transcript import NoteHead
from analysis.score.errors import UnsuitableSetting
from analysis.score.heads import AlteredHead
from analysis.score.settings import BOTTOM, TOP


@dataclass(frozen=True, slots=True)
class PartVoices:
    """The voices of a whole part: how many heads each has, in the order of staves and numbers.

    With several staves a voice is named by staff and voice ('2.1'). `together` are the indices of
    the bars in which more than one stands.
    """

    counts: Mapping[str, int]
    has_staves: bool
    together: tuple[int, ...]

    @property
    def largest(self) -> str:
        """The voice with the most heads, of equal ones the first."""
        return max(self.counts, key=lambda name: self.counts[name])

    def name_of(self, head: NoteHead) -> str:
        """Return the name of a head's voice."""
        return f"{head.staff}.{head.voice}" if self.has_staves else head.voice


def find_voices(heads: Sequence[NoteHead]) -> PartVoices:
    """List the voices of a part."""
    has_staves = len({head.staff for head in heads}) > 1
    counts = Counter(f"{head.staff}.{head.voice}" if has_staves else head.voice for head in heads)
    ordered = {name: counts[name] for name in sorted(counts, key=_number_first)}
    return PartVoices(ordered, has_staves, _find_together(heads))


def _find_together(heads: Iterable[NoteHead]) -> tuple[int, ...]:
    """The indices of the bars in which more than one voice stands."""
    voices: dict[int, set[tuple[int, str]]] = {}
    for head in heads:
        voices.setdefault(head.bar, set()).add((head.staff, head.voice))
    return tuple(bar for bar, found in sorted(voices.items()) if len(found) > 1)


def choose_line(
    heads: Sequence[AlteredHead], voices: PartVoices, voice: str | None
) -> tuple[list[AlteredHead], list[AlteredHead]]:
    """Return the heads of the line to play, and those that are left out.

    `voice` is a voice's name, `TOP` or `BOTTOM`; None takes the voice with the most heads where
    voices stand together, else all. Raises `UnsuitableSetting` for a voice that is not there.
    """
    if voice in (TOP, BOTTOM):
        return _choose_player(heads, voices, is_top=voice == TOP)
    if voice is None:
        if not voices.together:
            return list(heads), []
        voice = voices.largest
    if voice not in voices.counts:
        raise UnsuitableSetting(
            f"This part has no voice “{voice}”. It has {_join(voices.counts)}; or say top or "
            "bottom."
        )
    kept = [each for each in heads if voices.name_of(each.head) == voice]
    left = [each for each in heads if voices.name_of(each.head) != voice]
    return kept, left


def _choose_player(
    heads: Sequence[AlteredHead], voices: PartVoices, *, is_top: bool
) -> tuple[list[AlteredHead], list[AlteredHead]]:
    """One of two players: in each bar the first or last voice, of a chord the top or bottom."""
    ranks = {name: rank for rank, name in enumerate(voices.counts)}
    chosen: dict[int, int] = {}
    for each in heads:
        rank = ranks[voices.name_of(each.head)]
        best = chosen.setdefault(each.head.bar, rank)
        chosen[each.head.bar] = min(best, rank) if is_top else max(best, rank)
    kept: list[AlteredHead] = []
    left: list[AlteredHead] = []
    for chord in group_chords(heads):
        if ranks[voices.name_of(chord[0].head)] != chosen[chord[0].head.bar]:
            left += chord
            continue
        best_head = (max if is_top else min)(chord, key=_height)
        kept.append(best_head)
        left += [each for each in chord if each is not best_head]
    return kept, left


def group_chords(heads: Iterable[AlteredHead]) -> list[list[AlteredHead]]:
    """Return the heads in groups that sound together as one note."""
    groups: list[list[AlteredHead]] = []
    for each in heads:
        head = each.head
        if "chord" in head.marks and groups:
            first = groups[-1][0].head
            if (first.bar, first.onset, first.voice) == (head.bar, head.onset, head.voice):
                groups[-1].append(each)
                continue
        groups.append([each])
    return groups


def _height(each: AlteredHead) -> tuple[int, int, float]:
    """What orders the heads of a chord: octave and letter, then the alteration."""
    return (each.head.octave, "CDEFGAB".index(each.head.step), float(each.resolved.alter_cents))


def _number_first(name: str) -> tuple[float, str]:
    try:
        return (float(name), name)
    except ValueError:
        return (float("inf"), name)


def _join(names: Iterable[str]) -> str:
    shown = list(names)
    return f"voice {shown[0]}" if len(shown) == 1 else f"the voices {', '.join(shown)}"
