"""The way between two fingerings: what moves, what slides, and the order of costs."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.keywork import (
    DifferentLayouts,
    FingerMotion,
    KeyStates,
    SlideKind,
    describe_motion,
    load_layout,
    parse_fingering,
)
from analysis.keywork import motion as motion_module
from analysis.keywork.motion import COSTS
from tests.analysis.keywork.strategies import any_fingering, fingerings_of

SOPRANO = load_layout("soprano-17-6")


def _motion(first: str, second: str, layout_id: str = "soprano-17-6") -> FingerMotion:
    layout = load_layout(layout_id)
    return describe_motion(parse_fingering(first, layout), parse_fingering(second, layout))


# Common practice, from memory: every player would call the first of each pair the easier move.
@pytest.mark.parametrize(
    ("easier", "harder"),
    [
        # Alternate little fingers rather than slide with one.
        (
            ("T R 123 | 123 | left F", "T R 123 | 123 | G#/Eb"),
            ("T R 123 | 123 | right F", "T R 123 | 123 | G#/Eb"),
        ),
        (
            ("T 123 | 123 | left E", "T 123 | 123 | right F"),
            ("T 123 | 123 | right E", "T 123 | 123 | left F#, right F#"),
        ),
        # Keys that lie together rather than keys across the cluster.
        (
            ("T 123 | 123 | right E", "T 123 | 123 | right F"),
            ("T 123 | 123 | right E", "T 123 | 123 | G#/Eb"),
        ),
        # One finger rather than the break.
        (("T R 123 | 12-", "T R 123 | 123"), ("--- | --- | throat A", "T R 123 | 123 | right E")),
        (("T 1-- | ---", "T 12- | ---"), ("--- | --- | throat A", "T R 123 | 123")),
        # Fingers that all lift rather than cross.
        (("T 123 | 12-", "T 123 | 1--"), ("T 123 | 1--", "T 123 | -2-")),
        # The side key rather than the fork between B flat's neighbours.
        (
            ("T R 12- | ---", "T R 12- | --- | left cross"),
            ("T R 12- | ---", "T R 1-- | 1--"),
        ),
        # A plain finger rather than a half-hole.
        (("T R 123 | ---", "T R -23 | ---"), ("T R 123 | ---", "T R (1)23 | ---")),
        # First finger: to its hole rather than to the throat keys from its hole.
        (("--- | ---", "1-- | ---"), ("1-- | ---", "--- | --- | throat A")),
    ],
)
def test_the_easier_move_costs_less(easier: tuple[str, str], harder: tuple[str, str]) -> None:
    assert _motion(*easier).cost < _motion(*harder).cost


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("T 123 | 123", "T 123 | 123", "nothing moves"),
        ("T 123 | 12-", "T 123 | 123", "presses: right third finger"),
        ("T 12- | ---", "1-- | ---", "lifts: left thumb, left second finger"),
        (
            "T 123 | 123 | right E",
            "T 123 | 123 | right F",
            "right little finger slides from right E key to right F key",
        ),
        (
            "1-- | ---",
            "--- | --- | throat A",
            "left first finger shifts from left first finger to throat A key",
        ),
        ("T 1-- | ---", "T (1)-- | ---", "rolls: left first finger"),
        (
            "T 123 | 1--",
            "T 123 | -2-",
            "lifts: right first finger; presses: right second finger; contrary motion (1 finger)",
        ),
        ("T --- | ---", "T R --- | ---", "presses: left thumb"),
    ],
)
def test_a_motion_in_words(first: str, second: str, words: str) -> None:
    assert _motion(first, second).words == words


def test_the_thumb_that_leaves_its_hole_for_the_register_key_shifts() -> None:
    motion = _motion("T --- | ---", "R --- | --- | throat A")

    assert [(slide.kind, slide.digit.name) for slide in motion.slides] == [
        (SlideKind.SHIFT, "left thumb")
    ]


def test_the_carrying_thumb_shifts_to_its_keys_and_slides_between_them() -> None:
    to_key = _motion("T 123 | 123", "T 123 | 123 | thumb low C", "basset-clarinet-low-c")
    free = _motion("T 123 | 123", "T 123 | 123 | thumb low C", "bass-low-c")
    between = _motion("T 123 | 123 | thumb low C#", "T 123 | 123 | thumb low C", "bass-low-c")

    assert to_key.words == "right thumb shifts to thumb low C key"
    assert (free.words, free.cost) == ("presses: right thumb", 1.0)
    assert to_key.cost > free.cost
    assert [slide.kind for slide in between.slides] == [SlideKind.SLIDE]


def test_both_fingers_that_move_are_named_once() -> None:
    motion = _motion("--- | --- | throat A", "T R 123 | 123 | right E")

    assert len(motion.fingers) == len(set(motion.fingers)) == 8


@given(any_fingering.flatmap(lambda one: st.tuples(st.just(one), fingerings_of(one.layout))))
def test_costs_are_the_same_there_and_back_but_for_shading_and_the_carrying_thumb(
    pair: tuple[KeyStates, KeyStates],
) -> None:
    there, back = describe_motion(*pair), describe_motion(*reversed(pair))

    assert set(there.fingers) == set(back.fingers)
    assert there.contrary == back.contrary
    assert (there.cost == 0) == (pair[0] == pair[1])


def test_motion_between_instruments_is_refused() -> None:
    with pytest.raises(DifferentLayouts, match="Compare fingerings of one instrument"):
        describe_motion(KeyStates.of(SOPRANO, {}), KeyStates.of(load_layout("bass-low-c"), {}))


def test_the_documented_table_is_the_one_that_counts() -> None:
    rows = re.findall(r"^(\w+) +(\d\.\d+) ", motion_module.__doc__ or "", re.MULTILINE)

    assert {name: float(cost) for name, cost in rows} == dict(COSTS)


def test_venting_a_plate_costs_its_finger_and_no_care() -> None:
    bass = load_layout("bass-low-eb")
    down, vented = (parse_fingering(f"T R {left}23 | 12-", bass) for left in ("1", "[1]"))
    for motion in (describe_motion(down, vented), describe_motion(vented, down)):
        assert motion.cost == COSTS["finger"]
        assert motion.words == "rolls: left first finger"
