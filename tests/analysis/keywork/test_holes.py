"""What fingerings do to the holes.

Linkage is common practice, from memory, where no other source is named.
"""

from itertools import pairwise

import pytest
from hypothesis import given

from analysis.keywork import (
    Acts,
    HoleState,
    KeyStates,
    Layout,
    OrdinaryFingering,
    State,
    find_hole_states,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import Register, register_of
from tests.analysis.keywork.strategies import EVERY, any_fingering, name_layout
from tests.thinning import every_daily

SOPRANO = load_layout("soprano-17-6")


def _open_holes(text: str, layout_id: str = "soprano-17-6") -> set[str]:
    states = find_hole_states(parse_fingering(text, load_layout(layout_id)))
    return {hole for hole, state in states.items() if state is HoleState.OPEN}


@given(any_fingering)
def test_every_hole_has_a_state_and_only_shading_shades(fingering: KeyStates) -> None:
    states = find_hole_states(fingering)

    assert list(states) == [hole.id for hole in fingering.layout.holes]
    assert (HoleState.SHADED in states.values()) <= (State.SHADED in fingering.states)


@pytest.mark.parametrize("layout", every_daily(3, EVERY), ids=name_layout)
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
    scale = [one for one in ordinary_fingerings(layout) if register_of(one.written) in registers]
    firsts = [_first_open(one.fingering) for one in scale if one.choice == 1]

    assert len(firsts) >= 14
    # Throat B flat adds the register vent to throat A: the same first hole of the body.
    steps = list(pairwise(firsts))
    assert all(upper < lower for lower, upper in steps[:-1]), firsts
    assert steps[-1][1] <= steps[-1][0]
    assert all(_lies_between_its_neighbours(one, scale) for one in scale if one.choice > 1)


def _lies_between_its_neighbours(one: OrdinaryFingering, scale: list[OrdinaryFingering]) -> bool:
    usual = {other.written.cents: _first_open(other.fingering) for other in scale
             if other.choice == 1}  # fmt: skip
    below = usual.get(one.written.cents - 100, len(one.fingering.layout.holes) + 1)
    above = usual.get(one.written.cents + 100, -1)
    return above < _first_open(one.fingering) < below


def _first_open(fingering: KeyStates) -> int:
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


def test_with_two_register_keys_the_player_forces_the_vent() -> None:
    vents = {"register-upper", "register-lower"}
    two = "bass-low-eb-two-register-keys"

    for right_hand in ("123", "12-"):
        assert _open_holes(f"T R 123 | {right_hand}", two) & vents == {"register-lower"}
        upper = f"T 123 | {right_hand} | upper register"
        assert _open_holes(upper, two) & vents == {"register-upper"}


# The example of a combination in the trade's table of quarter tones on the bass.
def test_the_little_finger_holds_the_low_g_plate_shut_and_the_vent_changes() -> None:
    bass = load_layout("bass-low-c").complete
    c_sharp_5 = parse_fingering("T R 123 | 123 | left F#", bass)
    held = parse_fingering("T R 123 | 12- | left F#, side 3, side 4, low G plate", bass)

    before, after = find_hole_states(c_sharp_5), find_hole_states(held)

    assert {hole for hole in before if before[hole] != after[hole]} == {
        "register-upper", "register-lower", "side-3", "side-4",
    }  # fmt: skip
    assert (before["r3"], after["r3"]) == (HoleState.CLOSED, HoleState.CLOSED)
    assert after["register-upper"] is HoleState.OPEN


@pytest.mark.parametrize(
    ("text", "is_open"),
    [
        ("T 123 | --- | C#/G#", True),
        ("T 123 | 1-- | C#/G#", False),
        ("T 123 | -2- | C#/G#", False),
        ("T 123 | --3 | C#/G#", False),
    ],
)
def test_articulated_c_sharp_stays_shut_under_the_right_hand(text: str, is_open: bool) -> None:
    assert ("cs-gs" in _open_holes(text, "soprano-20-7")) == is_open
    assert "cs-gs" in _open_holes(text, "soprano-17-6")


def test_the_seventh_ring_makes_the_forked_e_flat() -> None:
    assert "vent-e" not in _open_holes("T 1-3 | ---", "soprano-20-7")
    assert "vent-e" in _open_holes("T 1-3 | ---", "soprano-17-6")


def test_the_german_fork_vents() -> None:
    b, fork = (_open_holes(text, "soprano-german") for text in ("T 123 | 1--", "T 123 | 1-3"))

    assert b - fork == {"vent-right", "r3"}
    assert fork <= b


def test_the_german_f_sharp_lever_opens_a_pad_below_the_closed_f() -> None:
    def low(text: str) -> set[str]:
        return _open_holes(text, "soprano-german") & {"low-f", "fs-cs", "low-e"}

    assert low("T 123 | 123") == {"low-f", "low-e"}
    assert low("T 123 | 123 | left F#, right F") == {"fs-cs", "low-e"}
    assert low("T 123 | 123 | right F") == {"low-e"}
    assert low("T 123 | 123 | left E") == set()


def test_the_left_lever_opens_the_right_keys_pad() -> None:
    left = _open_holes("T 123 | 123 | left G#/Eb", "soprano-20-7")

    assert left == _open_holes("T 123 | 123 | G#/Eb", "soprano-20-7")
    assert left >= {"gs-eb"}


@pytest.mark.parametrize("layout", EVERY, ids=name_layout)
def test_a_key_that_closes_a_low_pad_closes_every_pad_above_it(layout: Layout) -> None:
    # Linkage of all clarinets of this keywork (common practice, from memory).
    order = ["low-fs", "low-f", "low-e", "low-eb", "low-d", "low-cs", "low-c"]
    nothing = find_hole_states(KeyStates.of(layout, {}))
    pads = [hole for hole in order if hole in nothing]
    for key in layout.keys:
        if key.acts is Acts.CLOSES and key.id != "right-g":
            states = find_hole_states(KeyStates.of(layout, {key.id: State.DOWN}))
            closed = [states[pad] is HoleState.CLOSED for pad in pads]
            assert closed[0], key.id
            assert closed == sorted(closed, reverse=True), key.id


def test_a_shaded_hole_is_neither_open_nor_closed() -> None:
    shaded = KeyStates.of(SOPRANO, {"l1": State.SHADED})

    assert find_hole_states(shaded)["l1"] is HoleState.SHADED


def test_the_pads_of_a_vented_plate_stay_pressed_and_its_small_hole_is_open() -> None:
    bass = load_layout("bass-low-eb")
    down = find_hole_states(KeyStates.of(bass, {"l1": State.DOWN}))
    vented = find_hole_states(KeyStates.of(bass, {"l1": State.VENTED}))

    assert vented["l1"] is HoleState.VENTED
    assert {**vented, "l1": HoleState.CLOSED} == dict(down)
