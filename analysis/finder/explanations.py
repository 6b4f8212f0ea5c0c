"""Sentences of the finder: why a ranked fingering stands where it does, and how good all are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analysis.finder.inputs import Wishes
from analysis.finder.results import RankedFingering
from analysis.keywork import AWKWARD_FIGURE
from analysis.pitch import WrittenPitch, format_cents, format_pitch

_DOUBTFUL_CHANCE = 0.6
_COUNTED = {1: "one change", 2: "two changes", 3: "three changes", 4: "four changes"}


def explain_rank(
    suggestion: RankedFingering, wishes: Wishes, *, speaks_chance: float
) -> RankedFingering:
    """Give a ranked fingering the sentence that says why it stands where it does."""
    tolerance = f"{wishes.tolerance_cents:g} cents"
    counted = _COUNTED.get(len(suggestion.changes), f"{len(suggestion.changes)} changes")
    parts = [
        f"{counted} from {format_pitch(suggestion.base.written)}",
        f"lands within {tolerance} in about {_tenths(suggestion.chance)} of 10 tries",
    ]
    if speaks_chance < _DOUBTFUL_CHANCE:
        parts.append("may not speak")
    if suggestion.ease < AWKWARD_FIGURE:
        parts.append("awkward for the hand")
    if suggestion.has_half_hole:
        parts.append("has a half-hole, so it stands last")
    if not suggestion.is_within_reach:
        parts.append("out of reach by prediction, the least bad that is known")
    sentence = "; ".join(parts)
    return replace(suggestion, reason=f"{sentence[0].upper()}{sentence[1:]}.")


def _tenths(chance: float) -> str:
    tenths = round(10 * chance)
    return "fewer than 1" if tenths == 0 else str(tenths)


def sum_up(
    items: Sequence[RankedFingering], target: WrittenPitch, wishes: Wishes, proven: Sequence[str]
) -> str:
    """Say in words how good the suggestions for a target are."""
    note = format_pitch(target)
    known = f" Measured and in tune already: {'; '.join(proven)}." if proven else ""
    if not items:
        return (
            f"None known for {note}: nothing that is left to try lies near it with these wishes. "
            f"Allow more changes, or free a key.{known}"
        )
    best = items[0]
    if not best.is_within_reach:
        return (
            f"None known within reach of {note}: the least bad is predicted "
            f"{format_cents(best.offset_cents, decimals=0)} ± {best.sigma_cents:.0f} cents, "
            f"outside {wishes.tolerance_cents:g} cents. A half-hole or the lip may close the "
            f"rest.{known}"
        )
    number = "One fingering" if len(items) == 1 else f"{len(items)} fingerings"
    verb = "is" if len(items) == 1 else "are"
    return (
        f"{number} {verb} worth trying for {note}; each is predicted, not measured, and the best "
        f"lands within {wishes.tolerance_cents:g} cents in about {_tenths(best.chance)} of 10 "
        f"tries.{known}"
    )
