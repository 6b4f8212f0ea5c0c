"""Variants for the way to the next note: the right hand kept down, the E flat key."""

import pytest

from analysis.keywork import (
    find_conflicts,
    format_fingering,
    layout_ids,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import Register, register_of
from analysis.planning.motion_tables import load_motion_table
from analysis.planning.variants import list_variants
from tests.analysis.planning.exact_tube import SOPRANO, played


# Common practice, from memory: what players do on throat notes and in the altissimo.
@pytest.mark.parametrize(
    ("keys", "register", "wanted"),
    [
        ("--- | --- | throat A", Register.THROAT, ["--- | 123 | throat A"]),
        ("T 123 | ---", Register.CHALUMEAU, []),
        ("T R -23 | 1-- | G#/Eb", Register.ALTISSIMO, ["T R -23 | 1--"]),
        ("T R -23 | 1--", Register.ALTISSIMO, ["T R -23 | 1-- | G#/Eb"]),
    ],
)
def test_each_register_has_its_own(keys: str, register: Register, wanted: list[str]) -> None:
    found = list_variants(parse_fingering(keys, SOPRANO), register)
    assert [format_fingering(each.fingering) for each in found] == wanted


@pytest.mark.parametrize("layout_id", layout_ids())
def test_hands_can_hold_them_on_every_layout(layout_id: str) -> None:
    layout = load_layout(layout_id)
    found = [
        each.fingering
        for one in ordinary_fingerings(layout)
        for each in list_variants(one.fingering, register_of(one.written))
    ]
    assert found
    assert not any(find_conflicts(each) for each in found)


def test_one_table_for_all_passages_of_an_instrument() -> None:
    table = load_motion_table("b-flat-soprano", SOPRANO)
    assert load_motion_table("b-flat-soprano", load_layout("soprano-17-6")) is table
    unknown = load_motion_table("b-flat-soprano", load_layout("bass-low-c"))
    assert unknown.find_cents is None
    fork, f5 = played("T R 123 | -2-", "F#5"), played("T R 123 | 1--", "F5")
    assert table.find(f5, fork).unsafe_share == 1.0
