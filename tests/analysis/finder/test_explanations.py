"""Verdicts of the finder: the cause of an empty list, advice that fits it, two chances."""

from dataclasses import replace

import pytest

from analysis.finder.explanations import WhyNone, explain_rank, sum_up
from analysis.finder.inputs import NO_WISHES, Start, Wishes
from analysis.finder.results import RankedFingering
from analysis.finder.strategies import Strategy
from analysis.keywork import Layout, RightThumb, customise, find_changes, load_layout
from analysis.keywork import parse_fingering as parse
from analysis.pitch import Sentence, WrittenPitch

SOPRANO, BASS = load_layout("soprano-17-6"), load_layout("bass-low-c")
NOTE = WrittenPitch.from_canonical("D3+50c")
EVERY = Wishes(most_changes=4, has_half_holes=True)


def say(layout: Layout, wishes: Wishes = NO_WISHES, why: WhyNone | None = None) -> str:
    return str(sum_up((), NOTE, wishes, (), layout=layout, why_none=why))


@pytest.mark.parametrize("why", WhyNone)
def test_the_cause_is_named(why: WhyNone) -> None:
    assert f": {why.value}." in say(SOPRANO, why=why)


def test_half_holes_are_advised_only_where_a_hole_can_be_half_covered() -> None:
    assert "allow half-holes" in say(SOPRANO)
    assert "half-hole" not in say(BASS)
    assert "allow more changed keys" in say(BASS)


def test_nothing_is_advised_where_nothing_was_kept_out() -> None:
    assert say(SOPRANO, EVERY).endswith("nothing lies near it.")
    outside = say(SOPRANO, NO_WISHES, WhyNone.BELOW)
    assert outside.endswith("it lies below the lowest note of the instrument.")


@pytest.mark.parametrize("why", [WhyNone.NO_START, WhyNone.NOTHING_NEAR])
def test_a_thumb_that_carries_is_named_where_it_keeps_something_out(why: WhyNone) -> None:
    carried = customise(BASS, right_thumb=RightThumb.CARRIES)
    assert "Your right thumb carries the instrument, so fingerings" in say(carried, EVERY, why)
    assert "thumb" not in say(BASS, EVERY, why)
    assert "thumb" not in say(SOPRANO, EVERY, why), "there it could press nothing"


def test_chances_are_two_without_the_lip_and_with_it() -> None:
    base = Start(WrittenPitch.from_canonical("F#5"), parse("T R 123 | -2-", SOPRANO))
    keys = parse("T R 123 | -2- | right cross", SOPRANO)
    item = RankedFingering(
        rank=1,
        fingering=keys,
        base=base,
        strategy=Strategy.RAISED,
        changes=find_changes(base.fingering, keys),
        changes_words="",
        offset_cents=12.0,
        sigma_cents=8.0,
        chance=0.31,
        ease=1.0,
        has_half_hole=False,
        reason=Sentence(),
        is_within_reach=True,
        lip_chance=0.32,
    )
    wanted = "in about 3 of 10 tries; with the lip in about 3"
    assert wanted in str(explain_rank(item, NO_WISHES, speaks_chance=1.0).reason)
    verdict = str(sum_up([item], NOTE, NO_WISHES, (), layout=SOPRANO))
    assert "in about 3 of 10 tries, with the lip in about 3." in verdict
    far = sum_up([replace(item, is_within_reach=False)], NOTE, NO_WISHES, (), layout=SOPRANO)
    assert "with the lip in about 3" in str(far)
