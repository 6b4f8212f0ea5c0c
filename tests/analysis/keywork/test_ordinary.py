"""The ordinary chromatic fingerings, line by line against the trade's table.

Every fingering here is common practice, written down from memory, not from a published chart.
"""

from itertools import pairwise

import pytest

from analysis.keywork import (
    Layout,
    LayoutError,
    format_fingering,
    load_layout,
    neighbours,
    ordinary_fingerings,
    read_layout,
)
from analysis.pitch import WrittenPitch
from tests.analysis.keywork.layout_texts import shipped_text
from tests.analysis.keywork.strategies import LAYOUTS

SOPRANO = load_layout("soprano-17-6")

# Chalumeau and throat; the clarion is checked as the same fingerings with the register key.
TABLE = {
    "E3": ("T 123 | 123 | right E", "T 123 | 123 | left E"),
    "F3": ("T 123 | 123 | right F", "T 123 | 123 | left F"),
    "F#3": ("T 123 | 123 | left F#", "T 123 | 123 | right F#"),
    "G3": ("T 123 | 123",),
    "G#3": ("T 123 | 123 | G#/Eb",),
    "A3": ("T 123 | 12-",),
    "Bb3": ("T 123 | 1--",),
    "B3": ("T 123 | -2-", "T 123 | 1-- | right cross"),
    "C4": ("T 123 | ---",),
    "C#4": ("T 123 | --- | C#/G#",),
    "D4": ("T 12- | ---",),
    "Eb4": ("T 12- | --- | side 1", "T 12- | --- | left cross", "T 1-- | 1--"),
    "E4": ("T 1-- | ---",),
    "F4": ("T --- | ---",),
    "F#4": ("1-- | ---", "T --- | --- | side 1, side 2"),
    "G4": ("--- | ---",),
    "G#4": ("--- | --- | throat G#",),
    "A4": ("--- | --- | throat A",),
    "Bb4": ("R --- | --- | throat A", "--- | --- | throat A, side 3"),
}
ALTISSIMO = {
    "C#6": ("T R -23 | 12-",),
    "D6": ("T R -23 | 1-- | G#/Eb",),
    "Eb6": ("T R -23 | 1-- | right cross, G#/Eb",),
    "E6": ("T R -23 | --- | G#/Eb",),
    "F6": ("T R -23 | --- | C#/G#, G#/Eb",),
    "F#6": ("T R -2- | --- | G#/Eb",),
}


def _texts(layout: Layout, low: str, high: str) -> dict[str, tuple[str, ...]]:
    bounds = [WrittenPitch.from_canonical(note).cents for note in (low, high)]
    found: dict[str, tuple[str, ...]] = {}
    for one in ordinary_fingerings(layout):
        if bounds[0] <= one.written.cents <= bounds[1]:
            note = one.written.canonical
            found[note] = (*found.get(note, ()), format_fingering(one.fingering))
    return found


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.id)
def test_chalumeau_and_throat_are_the_trades_table(layout: Layout) -> None:
    assert _texts(layout, "E3", "Bb4") == TABLE


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.id)
def test_the_clarion_is_the_chalumeau_with_the_register_key_a_twelfth_up(layout: Layout) -> None:
    # A tube closed at one end overblows to its third harmonic: a twelfth, 1900 cents when tempered.
    chalumeau = _texts(layout, "E3", "F4")
    expected = {
        WrittenPitch.from_cents(WrittenPitch.from_canonical(note).cents + 1900).canonical: tuple(
            text.replace("T ", "T R ", 1) for text in texts
        )
        for note, texts in chalumeau.items()
    }

    assert _texts(layout, "B4", "C6") == expected


def test_the_soprano_altissimo() -> None:
    assert _texts(SOPRANO, "C#6", "C7") == ALTISSIMO


@pytest.mark.parametrize("layout_id", ["bass-low-eb", "bass-low-c"])
def test_the_bass_altissimo_uses_the_half_hole_plate_for_the_lifted_finger(layout_id: str) -> None:
    expected = {
        note: tuple(t.replace("-2", "(1)2", 1) for t in ALTISSIMO[note]) for note in ALTISSIMO
    }

    assert _texts(load_layout(layout_id), "C#6", "C7") == expected


def test_the_bass_extensions() -> None:
    e_flat = {"Eb3": ("T 123 | 123 | right low Eb", "T 123 | 123 | left low Eb")}

    assert _texts(load_layout("bass-low-eb"), "C3", "Eb3") == e_flat
    assert _texts(load_layout("bass-low-c"), "C3", "Eb3") == {
        "C3": ("T 123 | 123 | thumb low C",),
        "C#3": ("T 123 | 123 | thumb low C#",),
        "D3": ("T 123 | 123 | right low D", "T 123 | 123 | left low D"),
        **e_flat,
    }


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.id)
def test_the_scale_is_chromatic_from_the_lowest_note(layout: Layout) -> None:
    cents = sorted({one.written.cents for one in ordinary_fingerings(layout)})

    assert cents[0] == layout.lowest.cents
    assert {upper - lower for lower, upper in pairwise(cents)} == {100}


def test_neighbours_are_strictly_below_and_above() -> None:
    def near(note: str) -> list[str | None]:
        found = neighbours(SOPRANO, WrittenPitch.from_canonical(note))
        return [one.written.canonical if one else None for one in found]

    assert near("D5-50c") == ["C#5", "D5"]
    assert near("D5") == ["C#5", "Eb5"]
    assert near("E3") == [None, "F3"]
    assert near("G6") == ["F#6", None]


def test_neighbours_are_the_usual_fingerings() -> None:
    below, above = neighbours(SOPRANO, WrittenPitch.from_canonical("B3-50c"))

    assert below is not None
    assert above is not None
    assert (below.choice, above.choice) == (1, 1)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"T 123 | 12-"', '"T 123 | 12x"', "fingering 'A3', choice 1: At character 11"),
        ('"T 123 | 12-"', '"t 123, 12"', "fingering 'A3', choice 1: write it as 'T 123 | 12-'"),
        (
            'text = "T 123 | 123"\nchoice = 1',
            'text = "T 123 | 123"\nchoice = 2',
            "fingering 'G3': choice 1 is missing",
        ),
    ],
)
def test_a_bad_line_of_the_list_is_named(old: str, new: str, message: str) -> None:
    text = shipped_text("soprano-17-6")
    assert old in text

    with pytest.raises(LayoutError) as caught:
        read_layout(text.replace(old, new))

    assert message in str(caught.value)
