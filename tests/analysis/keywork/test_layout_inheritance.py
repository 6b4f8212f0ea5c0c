"""A layout that says only how it differs from a shipped one."""

import pytest

from analysis.keywork import (
    LayoutError,
    load_layout,
    parse_fingering,
    read_layout,
)

HEAD = """
extends = "soprano-17-6"
id = "mine"
version = 1
name = "Mine"
provenance = "made up for this test"
kinds = ["b-flat-soprano"]
"""
EXTRA_KEY = """
[[keys]]
id = "extra"
after = "left-f"
name = "extra key"
token = "extra"
hand = "left"
finger = "little"
kind = "key"
acts = "opens"
states = ["up", "down"]
group = "left-little"
label = "x"
outline = { kind = "bar", x = 64, y = 226, width = 32, height = 26, corner = 13 }
hit = [60.5, 222.5, 39, 33]
[[holes]]
id = "extra"
before = "gs-eb"
name = "extra pad"
stands = "closed"
opened_by = ["extra"]
"""


def test_saying_nothing_more_gives_the_same_keywork() -> None:
    mine, soprano = read_layout(HEAD), load_layout("soprano-17-6")

    assert (mine.id, mine.name) == ("mine", "Mine")
    assert (mine.keys, mine.holes, mine.ordinary) == (soprano.keys, soprano.holes, soprano.ordinary)
    assert mine != soprano


def test_where_a_removed_key_was_needed_rolling_a_finger_is_not_ordinary_any_more() -> None:
    notes = [line.note for line in load_layout("soprano-17-6").ordinary]
    mine = read_layout(
        HEAD
        + f'[remove]\nkeys = ["register"]\nholes = ["register"]\nfingerings = {notes}\n'
        + '[text]\nprefix = ["thumb"]\nleft = ["l1", "l2", "l3"]\nright = ["r1", "r2", "r3"]\n'
    )

    assert mine.key("l1").rolled == ()
    assert parse_fingering("T (1)23 | 12-", mine).has_half_hole


def test_a_new_key_stands_where_it_is_put() -> None:
    mine = read_layout(HEAD + EXTRA_KEY)
    keys, holes = [key.id for key in mine.keys], [hole.id for hole in mine.holes]

    assert keys[keys.index("left-f") + 1] == "extra"
    assert holes[holes.index("gs-eb") - 1] == "extra"


def test_an_override_changes_only_what_it_names() -> None:
    mine = read_layout(HEAD + '[[keys]]\nid = "side-4"\nname = "top trill key"\n')
    old = load_layout("soprano-17-6").key("side-4")

    assert mine.key("side-4").name == "top trill key"
    assert mine.key("side-4").outline == old.outline


def test_a_printed_label_may_take_the_place_of_a_note_name() -> None:
    mine = read_layout(HEAD + '[[keys]]\nid = "left-e"\nlabel = "x"\n')

    assert (mine.key("left-e").label, mine.key("left-e").is_label_note) == ("x", False)


def test_further_movers_are_added_to_a_hole() -> None:
    mine = read_layout(HEAD + '[[holes]]\nid = "cs-gs"\nalso_closed_by = ["r1"]\n')
    hole = next(hole for hole in mine.holes if hole.id == "cs-gs")

    assert [mover.key_id for mover in hole.opened_by] == ["cs-gs"]
    assert [mover.key_id for mover in hole.closed_by] == ["r1"]


def test_a_removed_key_leaves_pairs_and_linkage_and_its_fingerings_must_go_too() -> None:
    remove = '[remove]\nkeys = ["left-f"]\n'

    with pytest.raises(LayoutError, match=r"fingering 'F3', choice 2.*'left F' is no key"):
        read_layout(HEAD + remove)
    lines = "".join(
        f'[[fingerings]]\nnote = "{note}"\ntext = "{text} | right F"\nchoice = 1\n'
        for note, text in (("F3", "T 123 | 123"), ("C5", "T R 123 | 123"))
    )
    mine = read_layout(HEAD + remove + lines)
    assert not mine.has_key("left-f")
    assert not any("left-f" in pair for pair in mine.together)
    assert [line.text for line in mine.ordinary if line.note == "F3"] == ["T 123 | 123 | right F"]


@pytest.mark.parametrize(
    ("text", "place", "problem"),
    [
        (HEAD.replace("soprano-17-6", "oboe"), "field 'extends'", "name one of"),
        (HEAD.replace('"soprano-17-6"', "7"), "field 'extends'", "name one of"),
        (HEAD.replace('name = "Mine"', ""), "the layout, field 'name'", "missing"),
        (HEAD.replace("version = 1", ""), "the layout, field 'version'", "missing"),
        (HEAD + '[remove]\nkeys = ["spring"]', "remove, field 'keys'", "no 'spring'"),
        (HEAD + '[remove]\nsprings = ["x"]', "remove, field 'springs'", "not known"),
        (HEAD + "remove = 3", "field 'remove'", "a table was expected"),
        (HEAD + "keys = 3", "field 'keys'", "a list was expected"),
        (HEAD + "keys = [3]", "field 'keys'", "must be a table"),
        (
            HEAD + '[[keys]]\nid = "side-4"\nafter = "spring"',
            "key 'side-4', field 'after'",
            "no 'spring'",
        ),
        (HEAD + '[[keys]]\nid = "side-4"\nhand = "third"', "key 'side-4', field 'hand'", "none of"),
        (HEAD + '[[keys]]\nname = "x"', "field 'id'", "missing"),
        (HEAD + '[[fingerings]]\ntext = "x"', "field 'note'", "missing"),
        (HEAD + '[[holes]]\nid = "l1"\nalso_closed_by = 3', "hole 'l1', field 'also_", "not known"),
        (HEAD + "together = [3]", "field 'together'", "a pair of two keys"),
    ],
)
def test_a_fault_is_named(text: str, place: str, problem: str) -> None:
    with pytest.raises(LayoutError) as caught:
        read_layout(text)

    assert place in caught.value.place
    assert problem in caught.value.problem


def test_the_line_of_a_fault_is_counted_in_the_players_own_text() -> None:
    text = HEAD + EXTRA_KEY.replace('acts = "opens"', 'acts = "lifts"')

    with pytest.raises(LayoutError) as caught:
        read_layout(text)

    assert caught.value.line is not None
    assert text.splitlines()[caught.value.line - 1] == 'acts = "lifts"'
