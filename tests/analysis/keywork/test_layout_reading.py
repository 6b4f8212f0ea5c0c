"""A bad layout file is refused with the key and field that are wrong."""

import pytest

from analysis.keywork import (
    HoleState,
    KeyStates,
    Layout,
    LayoutError,
    State,
    find_hole_states,
    format_fingering,
    ordinary_fingerings,
    parse_fingering,
    read_layout,
    spell_out,
)
from tests.analysis.keywork.layout_texts import shipped_text
from tests.analysis.keywork.strategies import LAYOUTS
from tests.thinning import every_daily

SOPRANO_TEXT = shipped_text("soprano-17-6")

# (what is replaced, by what, the key or field that the error must name, and what it must say)
FAULTS = [
    ('id = "r2"\n', 'id = "r1"\n', "key 'r1'", "given twice"),
    ('id = "vent-e"', 'id = "vent-g"', "hole 'vent-g'", "given twice"),
    ('closed_by = ["thumb", "l1"]', 'closed_by = ["thump"]', "hole 'vent-g'", "no key 'thump'"),
    ('finger = "l1"', 'finger = "l9"', "hole 'l1', field 'finger'", "no key 'l9'"),
    ('["side-1", "side-2"]', '["side-1", "side-9"]', "'together'", "no key 'side-9'"),
    ('["side-1", "side-2"]', '["side-1"]', "'together'", "a pair of two keys"),
    ('prefix = ["thumb"', 'prefix = ["toe"', "text, field 'prefix'", "no key 'toe'"),
    ('left = ["l1", "l2"', 'left = ["l1", "l1"', "text", "'l1' has two places"),
    ('left = ["l1", "l2"', 'left = ["l2", "l1"', "text", "must rise"),
    ('left = ["l1", "l2"', 'left = ["l1", "throat-a"', "text", "single digits"),
    ("hit = [54, 283, 46, 31]", "hit = [54, 260, 50, 60]", "'right-cross', field 'hit'", "'r2'"),
    ("hit = [54, 283, 46, 31]", "hit = [54, 283, 46]", "'right-cross', field 'hit'", "4 numbers"),
    ('acts = "opens"', 'acts = "lifts"', "field 'acts'", "none of hole, opens, closes"),
    ('states = ["up", "down"]', 'states = ["up", "down", "shaded"]', "'register'", "covers a hole"),
    (
        'kind = "ring"',
        'kind = "plate"',
        "'thumb', field 'states'",
        "one with a small hole is 'vented'",
    ),
    ('"down", "shaded"]', '"down", "vented"]', "field 'states'", "only a plate can be 'vented'"),
    ('states = ["up", "down"]', 'states = ["down"]', "'register', field 'states'", "'up' must"),
    ('states = ["up", "down"]', 'states = ["up"]', "'register', field 'states'", "second state"),
    ('states = ["up", "down"]', 'states = ["up", "half"]', "field 'states'", "'half' is none"),
    ('token = "R"', 'token = "R2"', "key 'register', field 'token'", "letters were expected"),
    ('token = "throat A"', 'token = "throat|A"', "key 'throat-a'", "one of |"),
    ('token = "throat A"', 'token = "T R"', "key 'throat-a'", "reads as a hand's holes"),
    ('token = "throat A"', 'token = "77"', "key 'throat-a', field 'token'", "a word was expected"),
    ('token = "right E"', 'token = "LEFT  e"', "key 'right-e'", "already means 'left-e'"),
    ('name = "register key"\n', "", "key 'register', field 'name'", "missing"),
    ('name = "register key"', "name = 3", "key 'register', field 'name'", "a text was expected"),
    ("cluster = true", 'cluster = "yes"', "field 'cluster'", "true or false"),
    ("behind = true", "bihind = true", "key 'thumb', field 'bihind'", "not known"),
    ("radius = 12.5", 'radius = "big"', "outline, field 'radius'", "a number was expected"),
    ('kind = "circle"', 'kind = "star"', "outline, field 'kind'", "neither circle nor bar"),
    ("width = 28,", "width = 0,", "key 'register', field 'outline'", "width and height"),
    ('["register", "l2"]', '["l9"]', "key 'l1', field 'rolled'", "no key 'l9'"),
    ('while_up = ["r3"]', 'while_up = ["r9"]', "key 'l1', field 'rolled'", "no key 'r9'"),
    ('while_up = ["r3"]', 'while_off = ["r3"]', "key 'l1', rolled, field 'while_off'", "not known"),
    ('note = "A4"', 'rolled = ["l2"]', "'throat-a', field 'rolled'", "a table with while_down"),
    ('stands = "closed"', 'stands = "ajar"', "hole 'register'", "neither open nor closed"),
    ('opened_by = ["register"]', "opened_by = []", "key 'register'", "it opens no hole"),
    ('opened_by = ["register"]', "opened_by = [7]", "'opened_by'", "a table with a key"),
    ('finger = "r3"', 'finger = "r2"', "key 'r3'", "no hole names it"),
    ('lowest = "E3"', 'lowest = "H3"', "field 'lowest'", "no written note"),
    ("version = 1", "version = 0", "field 'version'", "from 1 up"),
    ("version = 1", 'version = 1\nowner = "me"', "field 'owner'", "not known"),
    ('hand = "left"\nfinger', 'also = ["left toe"]\nhand = "left"\nfinger', "'also'", "no finger"),
]


@pytest.mark.parametrize(("old", "new", "place", "problem"), FAULTS)
def test_a_fault_is_named_with_its_key_and_field(
    old: str, new: str, place: str, problem: str
) -> None:
    assert old in SOPRANO_TEXT

    with pytest.raises(LayoutError) as caught:
        read_layout(SOPRANO_TEXT.replace(old, new, 1))

    assert place in str(caught.value)
    assert problem in str(caught.value)
    assert caught.value.layout_id == "soprano-17-6"


def test_a_file_that_is_no_toml_is_refused() -> None:
    with pytest.raises(LayoutError, match="'mine' can't be used: the file: it is not TOML"):
        read_layout("keys = [", source="mine")


def test_a_layout_without_keys_is_refused() -> None:
    head = SOPRANO_TEXT.partition("[[guides]]")[0]

    with pytest.raises(LayoutError, match="add at least one key"):
        read_layout(head)


@pytest.mark.parametrize("layout", every_daily(3, LAYOUTS), ids=lambda layout: layout.id)
def test_a_shipped_file_reads_the_same_twice(layout: Layout) -> None:
    again = read_layout(shipped_text(layout.id))

    assert again == layout
    assert (again.keys, again.holes, again.ordinary) == (layout.keys, layout.holes, layout.ordinary)


def test_a_layout_may_have_other_hands_and_keys_than_the_shipped_ones() -> None:
    """Nothing in code may count keys: two holes, one hand each, no prefix, one odd key."""
    layout = read_layout(TOY)

    slid = parse_fingering("1 | - | slide", layout)

    assert format_fingering(KeyStates.of(layout, {})) == "- | -"
    assert format_fingering(slid) == "1 | - | slide"
    assert spell_out(slid) == "left 1; slide"
    assert find_hole_states(slid)["b"] is HoleState.OPEN
    assert find_hole_states(slid.replaced("a", State.UP))["b"] is HoleState.CLOSED
    assert ordinary_fingerings(layout) == ()


TOY = """
id = "toy"
version = 3
name = "Toy"
provenance = "made up for this test"
kinds = []
lowest = "C4"
view_box = [0, 0, 240, 100]
together = []
[text]
prefix = []
left = ["a"]
right = ["b"]
[[keys]]
id = "a"
name = "left first finger"
token = "1"
hand = "left"
finger = "first"
kind = "hole"
acts = "hole"
states = ["up", "down"]
group = "left"
label = "1"
outline = { kind = "circle", x = 120, y = 20, radius = 12 }
hit = [100, 0, 40, 40]
[[keys]]
id = "b"
name = "right first finger"
token = "1"
hand = "right"
finger = "first"
kind = "hole"
acts = "hole"
states = ["up", "down"]
group = "right"
label = "1"
outline = { kind = "circle", x = 120, y = 70, radius = 12 }
hit = [100, 50, 40, 40]
[[keys]]
id = "slide"
name = "slide"
token = "slide"
hand = "right"
finger = "little"
kind = "key"
acts = "opens"
states = ["up", "down"]
group = "slide"
label_note = "Bb"
outline = { kind = "bar", x = 10, y = 10, width = 30, height = 20, corner = 4 }
hit = [0, 0, 50, 50]
[[holes]]
id = "a"
name = "upper hole"
stands = "open"
finger = "a"
[[holes]]
id = "b"
name = "lower hole"
stands = "open"
finger = "b"
closed_by = [{ key = "slide", while_up = ["a"] }]
opened_by = [{ key = "slide", while_down = ["a"] }]
"""
