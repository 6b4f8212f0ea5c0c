"""Text of a part put together by touch: what is written is what the parser of parts reads."""

from __future__ import annotations

from fractions import Fraction

from analysis.score import parse_typed_part
from tests.javascript.node import Node

MODULE = "note/part-text.js"


def test_what_is_touched_is_read_as_it_was_meant(node: Node) -> None:
    text = ""
    for note, length, is_slurred in (
        ("D5-50c", "1/4", False), ("E5+25c", "1/8", True), ("F5", "3/8", False),
        ("r", "1/4", False),
    ):  # fmt: skip
        text = node.call(MODULE, "addNote", text, note, {"length": length, "isSlurred": is_slurred})
    text = node.call(MODULE, "addBar", text)
    text = node.call(MODULE, "addNote", text, "G5", {"length": "1/4", "isSlurred": False})
    text = node.call(MODULE, "repeatBar", text)
    text = node.call(MODULE, "addNote", text, "A5", {"length": "1/2", "isSlurred": False})

    first, second, third, fourth = parse_typed_part(text)
    assert [each.length for each in first.notes] == [
        Fraction(1), Fraction(1, 2), Fraction(3, 2), Fraction(1),
    ]  # fmt: skip
    assert [each.is_slurred for each in first.notes] == [False, True, False, False]
    assert first.notes[1].pitches[0].canonical == "E5+25c"
    assert second.notes == third.notes
    assert (fourth.label, fourth.notes[0].length) == ("4", Fraction(2))


def test_it_goes_on_from_what_was_typed_and_takes_back_one_thing(node: Node) -> None:
    typed = "12: D5 -50 (1/8), "
    more = node.call(MODULE, "addNote", typed, "E5", {"length": "1/8", "isSlurred": False})
    assert more == "12: D5 -50 (1/8), E5"
    assert node.call(MODULE, "takeBack", more) == "12: D5 -50 (1/8)"
    assert node.call(MODULE, "takeBack", "D5\n") == "D5"
    assert node.call(MODULE, "takeBack", "12: D5\n13: E5") == "12: D5\n"
    assert node.call(MODULE, "takeBack", "") == ""
    begun = node.call(MODULE, "addNote", "12:", "D5", {"length": "1/4", "isSlurred": False})
    assert [each.label for each in parse_typed_part(begun)] == ["12"]
    assert node.call(MODULE, "addBar", "") == ""
    assert node.call(MODULE, "repeatBar", "") == ""
    assert node.call(MODULE, "dotted", "1/4") == "3/8"


def test_a_slur_over_the_bar_line_is_kept(node: Node) -> None:
    text = node.call(MODULE, "addNote", "D5\n", "E5", {"length": "1/4", "isSlurred": True})
    _, second = parse_typed_part(text)
    assert second.notes[0].is_slurred


def test_what_was_put_in_last_is_told(node: Node) -> None:
    for text, told in (
        ("", ""),
        ("D5 (1/8), E5~F5", "D5 (1/8), E5~F5"),
        ("D5\nE5 -50, F5\n", "E5 -50, F5"),
        ("12: D5 | 13: E5", "13: E5"),
        ("D5\n%\n", "The same bar again."),
    ):
        assert node.call(MODULE, "tellLast", text) == told
