"""Faults are found by line in the text that was read."""

import pytest

from analysis.keywork import LayoutError, read_layout
from tests.analysis.keywork.layout_texts import shipped_text
from tests.analysis.keywork.test_layout_reading import FAULTS

TEXT = shipped_text("soprano-17-6")


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ('acts = "hole"', 'acts = "whole"', 'acts = "whole"'),
        ("y = 46, radius = 12.5 }", "y = 46 }", 'outline = { kind = "circle", x = 24, y = 46 }'),
        ('stands = "closed"', 'stands = "ajar"', 'stands = "ajar"'),
        ('"T 123 | 12-"', '"T 123 | 12x"', "[[fingerings]]"),
        ('lowest = "E3"', 'lowest = "H3"', 'lowest = "H3"'),
        ('prefix = ["thumb"', 'prefix = ["toe"', 'prefix = ["toe", "register"]'),
        ("hit = [54, 283, 46, 31]", "hit = [54, 260, 50, 60]", "hit = [54, 260, 50, 60]"),
        ('id = "r2"\n', 'id = "r1"\n', "[[keys]]"),
    ],
)  # fmt: skip
def test_the_line_is_that_of_the_field_or_of_its_table(old: str, new: str, line: str) -> None:
    text = TEXT.replace(old, new, 1)

    with pytest.raises(LayoutError) as caught:
        read_layout(text)

    assert caught.value.line is not None
    assert text.splitlines()[caught.value.line - 1] == line
    assert f"(line {caught.value.line})" in str(caught.value)


def test_of_two_choices_of_a_note_the_faulty_one_is_found() -> None:
    text = TEXT.replace('"T 1-- | 1--"', '"T 1-- | 1-x"', 1)

    with pytest.raises(LayoutError) as caught:
        read_layout(text)

    assert caught.value.line is not None
    assert '1-x"' in text.splitlines()[caught.value.line + 1]


@pytest.mark.parametrize("fault", FAULTS, ids=range(len(FAULTS)))
def test_every_line_lies_in_the_text(fault: tuple[str, str, str, str]) -> None:
    text = TEXT.replace(fault[0], fault[1], 1)

    with pytest.raises(LayoutError) as caught:
        read_layout(text)

    assert caught.value.line is None or 1 <= caught.value.line <= len(text.splitlines())
