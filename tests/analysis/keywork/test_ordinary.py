"""The ordinary chromatic fingerings, line by line against the trade's table.

Every fingering here is common practice, written down from memory, not from a published chart.
"""

from itertools import pairwise

import pytest

from analysis.keywork import (
    Layout,
    LayoutError,
    fingerings_to_try,
    format_fingering,
    load_layout,
    neighbours,
    ordinary_fingerings,
    read_layout,
)
from analysis.pitch import WrittenPitch
from tests.analysis.keywork.layout_texts import shipped_text
from tests.analysis.keywork.strategies import EVERY, LAYOUTS, name_layout
from tests.analysis.keywork.tables import (
    EXTENSIONS,
    add_register,
    altissimo_table,
    chalumeau_table,
    to_try_notes,
)

SOPRANO = load_layout("soprano-17-6")


def _texts(layout: Layout, low: str, high: str) -> dict[str, tuple[str, ...]]:
    bounds = [WrittenPitch.from_canonical(note).cents for note in (low, high)]
    found: dict[str, tuple[str, ...]] = {}
    for one in ordinary_fingerings(layout):
        if bounds[0] <= one.written.cents <= bounds[1]:
            note = one.written.canonical
            found[note] = (*found.get(note, ()), format_fingering(one.fingering))
    return found


@pytest.mark.parametrize("layout", LAYOUTS, ids=name_layout)
def test_chalumeau_and_throat_are_the_trades_table(layout: Layout) -> None:
    assert _texts(layout, "E3", "Bb4") == chalumeau_table(layout.id)


@pytest.mark.parametrize("layout", LAYOUTS, ids=name_layout)
def test_the_clarion_is_the_chalumeau_with_the_register_key_a_twelfth_up(layout: Layout) -> None:
    # A tube closed at one end overblows to its third harmonic: a twelfth, 1900 cents when tempered.
    expected = {}
    for note, texts in chalumeau_table(layout.id).items():
        cents = WrittenPitch.from_canonical(note).cents
        if cents > WrittenPitch.from_canonical("F4").cents:
            continue
        twelfth = WrittenPitch.from_cents(cents + 1900).canonical
        expected[twelfth] = tuple(add_register(text, twelfth, layout.id) for text in texts)

    assert _texts(layout, "B4", "C6") == expected


@pytest.mark.parametrize("layout", LAYOUTS, ids=name_layout)
def test_the_low_altissimo_is_the_trades_table(layout: Layout) -> None:
    assert _texts(layout, "C#6", "C7") == altissimo_table(layout.id)


@pytest.mark.parametrize("layout", EVERY, ids=name_layout)
def test_what_is_to_try_stands_above_what_is_ordinary_and_is_never_among_it(layout: Layout) -> None:
    to_try = fingerings_to_try(layout)
    top = ordinary_fingerings(layout)[-1].written

    assert tuple(dict.fromkeys(one.written.canonical for one in to_try)) == to_try_notes(layout.id)
    assert all(one.is_to_try and one.written > top for one in to_try)
    assert all("from memory" in one.remark for one in to_try)
    assert not any(one.is_to_try for one in ordinary_fingerings(layout))
    assert neighbours(layout, WrittenPitch.from_canonical("C#7"))[0] == next(
        one for one in ordinary_fingerings(layout) if one.written == top
    )


def test_a_note_cannot_be_ordinary_and_to_try() -> None:
    text = shipped_text("soprano-17-6").replace("choice = 2\n", "choice = 2\nto_try = true\n", 1)

    with pytest.raises(LayoutError, match="a note is ordinary, or to try; not both"):
        read_layout(text)


@pytest.mark.parametrize("layout", LAYOUTS, ids=name_layout)
def test_the_extension_below_the_chalumeau(layout: Layout) -> None:
    assert _texts(layout, "C3", "Eb3") == EXTENSIONS[layout.id]


def test_every_duplicate_of_the_bass_to_low_c_is_an_option() -> None:
    low = _texts(load_layout("bass-low-c").complete, "C3", "Eb3")

    assert low["C3"] == tuple(f"T 123 | 123 | {one} low C" for one in ("thumb", "left", "right"))
    assert low["C#3"] == tuple(f"T 123 | 123 | {one} low C#" for one in ("thumb", "left", "right"))
    assert low["D3"] == tuple(f"T 123 | 123 | {one} low D" for one in ("right", "left", "thumb"))
    assert low["Eb3"] == tuple(f"T 123 | 123 | {one} low Eb" for one in ("right", "left", "thumb"))


@pytest.mark.parametrize("layout", EVERY, ids=name_layout)
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
    assert near("C7") == ["G6", None]


def test_neighbours_are_the_usual_fingerings() -> None:
    below, above = neighbours(SOPRANO, WrittenPitch.from_canonical("B3-50c"))

    assert below is not None
    assert above is not None
    assert (below.choice, above.choice) == (1, 1)


@pytest.mark.parametrize(
    ("old", "new", "place", "problem"),
    [
        ('"T 123 | 12-"', '"T 123 | 12x"', "fingering 'A3', choice 1", "At character 11"),
        ('"T 123 | 12-"', '"t 123, 12"', "fingering 'A3', choice 1", "write it as 'T 123 | 12-'"),
        (
            'text = "T 123 | 123"\nchoice = 1',
            'text = "T 123 | 123"\nchoice = 2',
            "fingering 'G3'",
            "choice 1 is missing",
        ),
    ],
)
def test_a_bad_line_of_the_list_is_named(old: str, new: str, place: str, problem: str) -> None:
    text = shipped_text("soprano-17-6")
    assert old in text

    with pytest.raises(LayoutError) as caught:
        read_layout(text.replace(old, new))

    assert caught.value.place == place
    assert problem in str(caught.value)
