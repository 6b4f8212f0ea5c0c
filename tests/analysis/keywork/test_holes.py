"""What fingerings do to the holes.

Linkage is common practice, from memory, where no other source is named.
"""

from itertools import pairwise

import pytest
from hypothesis import given

from analysis.keywork import (
    Fingering,
    HoleState,
    Layout,
    State,
    find_hole_states,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import Register, register_of
from tests.analysis.keywork.strategies import LAYOUTS, any_fingering

SOPRANO = load_layout("soprano-17-6")


def _open_holes(text: str, layout_id: str = "soprano-17-6") -> set[str]:
    states = find_hole_states(parse_fingering(text, load_layout(layout_id)))
    return {hole for hole, state in states.items() if state is HoleState.OPEN}


@given(any_fingering)
def test_every_hole_has_a_state_and_only_shading_shades(fingering: Fingering) -> None:
    states = find_hole_states(fingering)

    assert list(states) == [hole.id for hole in fingering.layout.holes]
    assert (HoleState.SHADED in states.values()) <= fingering.has_half_hole


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.id)
@pytest.mark.parametrize(
    "registers",
    [
        (Register.EXTENSION, Register.CHALUMEAU, Register.THROAT),
        (Register.CLARION,),
    ],
    ids=["first resonance", "second resonance"],
)
def test_going_up_the_first_open_hole_moves_up_the_tube(
    layout: Layout, registers: tuple[Register, ...]
) -> None:
    # Closed formula of any woodwind without overblowing: the higher note has the shorter tube.
    # The register vents and the side keys of trills are not what ends the tube in the scale.
    scale = [
        one
        for one in ordinary_fingerings(layout)
        if one.choice == 1 and register_of(one.written) in registers
    ]
    firsts = [_first_open(one.fingering) for one in scale]

    assert len(firsts) >= 14
    # Throat B flat adds the register vent to throat A: the same first hole of the body.
    steps = list(pairwise(firsts))
    assert all(upper < lower for lower, upper in steps[:-1]), firsts
    assert steps[-1][1] <= steps[-1][0]


def _first_open(fingering: Fingering) -> int:
    states = list(find_hole_states(fingering).items())
    body = [
        place
        for place, (hole, state) in enumerate(states)
        if state is HoleState.OPEN and not hole.startswith("register")
    ]
    return min(body, default=len(states))


def test_nothing_pressed_leaves_the_finger_holes_and_vents_open() -> None:
    assert _open_holes("--- | ---") == {
        "vent-g", "thumb", "l1", "vent-e", "l2", "l3", "vent-right", "r1", "r2", "r3",
        "low-fs", "low-f", "low-e",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("key", "closed"),
    [
        ("right F#", {"low-fs"}),
        ("left F#", {"low-fs"}),
        ("right F", {"low-fs", "low-f"}),
        ("left F", {"low-fs", "low-f"}),
        ("right E", {"low-fs", "low-f", "low-e"}),
        ("left E", {"low-fs", "low-f", "low-e"}),
    ],
)
def test_each_low_key_closes_what_it_names_and_all_above(key: str, closed: set[str]) -> None:
    assert _open_holes("--- | ---") - _open_holes(f"--- | --- | {key}") == closed


def test_the_bass_extension_closes_every_pad_above() -> None:
    assert _open_holes("T 123 | 123 | thumb low C#", "bass-low-c") == {"low-c"}
    assert _open_holes("T 123 | 123 | right low Eb", "bass-low-eb") == set()


@pytest.mark.parametrize(
    ("key", "opened"),
    [
        ("throat A", {"throat-a", "throat-gs"}),
        ("throat G#", {"throat-gs"}),
        ("left cross", {"left-cross"}),
        ("right cross", {"right-cross"}),
        ("C#/G#", {"cs-gs"}),
        ("G#/Eb", {"gs-eb"}),
        ("side 1", {"side-1"}),
        ("side 2", {"side-2"}),
        ("side 3", {"side-3"}),
        ("side 4", {"side-4"}),
        ("register", {"register"}),
    ],
)
def test_keys_that_raise_open_their_pads(key: str, opened: set[str]) -> None:
    assert _open_holes(f"--- | --- | {key}") - _open_holes("--- | ---") == opened


@pytest.mark.parametrize(
    ("text", "vents"),
    [
        ("T --- | ---", {"vent-e", "vent-right"}),
        ("1-- | ---", {"vent-e", "vent-right"}),
        ("(1)-- | ---", {"vent-e", "vent-right"}),
        ("-2- | ---", {"vent-g", "vent-right"}),
        ("--3 | ---", {"vent-g", "vent-e", "vent-right"}),
        ("--- | -2-", {"vent-g"}),
        ("T 123 | -2-", set()),
    ],
)
def test_rings_close_their_vents(text: str, vents: set[str]) -> None:
    assert _open_holes(text) & {"vent-g", "vent-e", "vent-right"} == vents


def test_the_bass_register_key_opens_the_lower_vent_while_the_third_finger_is_down() -> None:
    vents = {"register-upper", "register-lower"}

    assert _open_holes("T R 123 | 123", "bass-low-c") & vents == {"register-lower"}
    assert _open_holes("T R 123 | 12-", "bass-low-c") & vents == {"register-upper"}
    assert _open_holes("T 123 | 123", "bass-low-c") & vents == set()


def test_a_shaded_hole_is_neither_open_nor_closed() -> None:
    shaded = Fingering.of(SOPRANO, {"l1": State.SHADED})

    assert find_hole_states(shaded)["l1"] is HoleState.SHADED


def test_duplicate_keys_leave_the_same_holes() -> None:
    left = find_hole_states(parse_fingering("T 123 | 123 | left E", SOPRANO))
    right = find_hole_states(parse_fingering("T 123 | 123 | right E", SOPRANO))

    assert left == right
