"""Sentences of the finder: why a ranked fingering stands where it does, and how good all are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum

from analysis.finder.inputs import MOST_CHANGES, Wishes
from analysis.finder.results import WORTH_LIPPING, WORTH_TRYING, RankedFingering
from analysis.keywork import (
    AWKWARD_FIGURE,
    Layout,
    State,
    describe_changes,
    find_changes,
    is_kept_from_thumb,
)
from analysis.pitch import Sentence, WrittenPitch, format_cents

WORTH_TRYING_WORDS = (
    f"Worth trying is what should be in tune in at least {10 * WORTH_TRYING:g} of 10 tries, or in "
    f"{10 * WORTH_LIPPING:g} with the lip."
)
_DOUBTFUL_CHANCE = 0.6
_MOST_VARIANTS = 2
_COUNTED = {1: "one change", 2: "two changes", 3: "three changes", 4: "four changes"}


class WhyNone(StrEnum):
    """Why there is nothing to suggest, as the end of a sentence."""

    BELOW = "it lies below the lowest note of the instrument"
    NO_START = "no ordinary fingering lies within an octave of it"
    NOTHING_NEAR = "nothing lies near it"
    ALL_KNOWN = "what lies near it was tried or dismissed already"


def explain_rank(
    suggestion: RankedFingering, wishes: Wishes, *, speaks_chance: float
) -> RankedFingering:
    """Give a ranked fingering the sentence that says why it stands where it does."""
    tolerance = f"{wishes.tolerance_cents:g} cents"
    counted = _COUNTED.get(len(suggestion.changes), f"{len(suggestion.changes)} changes")
    parts = [f"lands within {tolerance} in about {_tenths(suggestion.chance)} of 10 tries"]
    parts.append(f"with the lip in about {_tenths(suggestion.lip_chance)}")
    if suggestion.variants:
        parts.append(f"the same sound {_name_variants(suggestion)}")
    if speaks_chance < _DOUBTFUL_CHANCE:
        parts.append("may not speak")
    if suggestion.ease < AWKWARD_FIGURE:
        parts.append("awkward for the hand")
    if suggestion.has_half_hole:
        parts.append("has a half-hole, so it stands last")
    if not suggestion.is_within_reach:
        parts.append("out of reach by prediction, the closest found")
    began = f"{counted[0].upper()}{counted[1:]} from "
    reason = Sentence(began, suggestion.base.written, f"; {'; '.join(parts)}.")
    return replace(suggestion, reason=reason)


def _name_variants(suggestion: RankedFingering) -> str:
    """Name what may be held besides or be let go without a change of the sound."""
    words = [
        describe_changes(find_changes(suggestion.fingering, variant))
        for variant in suggestion.variants[:_MOST_VARIANTS]
    ]
    return "where it " + ", or ".join(words)


def _tenths(chance: float) -> str:
    tenths = round(10 * chance)
    return "fewer than 1" if tenths == 0 else str(tenths)


def sum_up(
    items: Sequence[RankedFingering],
    target: WrittenPitch,
    wishes: Wishes,
    proven: Sequence[str],
    *,
    layout: Layout,
    why_none: WhyNone | None = None,
) -> Sentence:
    """Say in words how good the suggestions for a target are.

    `proven` names what is measured in tune; `why_none` says why there are no items.
    """
    known = f" Measured and in tune already: {'; '.join(proven)}." if proven else ""
    advice = _advise(wishes, layout)
    if not items:
        why = why_none or WhyNone.NOTHING_NEAR
        if why in {WhyNone.BELOW, WhyNone.NO_START}:
            thumb = _explain_thumb(layout) if why is WhyNone.NO_START else ""
            return Sentence("None known for ", target, f": {why.value}.{thumb}{known}")
        return Sentence("None known within reach of ", target, f": {why.value}.{advice}{known}")
    best = items[0]
    if not best.is_within_reach:
        return Sentence(
            "None known within reach of ",
            target,
            ": the closest found is predicted "
            f"{format_cents(best.offset_cents, decimals=0)} ± {best.sigma_cents:.0f} cents, "
            f"which is within {wishes.tolerance_cents:g} cents in about {_tenths(best.chance)} of "
            f"10 tries, with the lip in about {_tenths(best.lip_chance)}.{advice}{known}",
        )
    number = "One fingering" if len(items) == 1 else f"{len(items)} fingerings"
    verb = "is" if len(items) == 1 else "are"
    return Sentence(
        f"{number} {verb} worth trying for ",
        target,
        "; each is predicted, not measured, and the best "
        f"lands within {wishes.tolerance_cents:g} cents in about {_tenths(best.chance)} of 10 "
        f"tries, with the lip in about {_tenths(best.lip_chance)}.{known}",
    )


def _advise(wishes: Wishes, layout: Layout) -> str:
    """Advise what would let more fingerings in; nothing where nothing was kept out."""
    ways = []
    if wishes.must_be_free or wishes.must_be_down:
        ways.append("free the keys that have to stay")
    if wishes.most_changes < MOST_CHANGES:
        ways.append("allow more changed keys")
    has_half_holes = any(State.SHADED in key.states for key in layout.keys)
    if has_half_holes and not wishes.has_half_holes:
        ways.append("allow half-holes")
    further = f" To look further, {' or '.join(ways)}." if ways else ""
    return _explain_thumb(layout) + further


def _explain_thumb(layout: Layout) -> str:
    """Say what the right thumb keeps out; nothing where it reaches all that it could."""
    if not any(is_kept_from_thumb(layout, key) for key in layout.keys):
        return ""
    why = layout.right_thumb.reason
    return f" Your right thumb {why}, so fingerings that need more of it are left out."
