"""How a fingering lies in the hands, in words.

Truth: the figure of a fingering with nothing in the way is 1, and a half-hole halves it (the table
of `analysis.keywork.ease`).
"""

import pytest

from analysis.keywork import DifferentLayouts, load_layout, parse_fingering
from webapp.presenting.hands import describe_ease, describe_way

SOPRANO = load_layout("soprano-17-6")


@pytest.mark.parametrize(
    ("text", "grade", "terms", "is_awkward"),
    [
        ("T 123 | 123", "easy", "", False),
        ("T (1)23 | 123", "takes some care", "half-hole", False),
        ("T (1)23 | 123 | left F#, right E", "awkward", "half-hole", True),
        ("1-- | --- | throat A", "two hands can’t hold it", "", True),
    ],
)
def test_the_grade_follows_the_figure(text: str, grade: str, terms: str, is_awkward: bool) -> None:
    words = describe_ease(parse_fingering(text, SOPRANO))
    assert (words.grade, words.is_awkward) == (grade, is_awkward)
    assert words.terms.startswith(terms)
    assert bool(words.terms) == bool(terms)


def test_the_way_has_its_effort_unless_nothing_moves() -> None:
    first, second = (parse_fingering(text, SOPRANO) for text in ("T 12- | ---", "T 123 | ---"))
    assert (
        describe_way(first, second)
        == "presses: left third finger (effort 1; one plain finger is 1)"
    )
    assert describe_way(first, first) == "nothing moves"
    other = parse_fingering("T", load_layout("bass-low-c"))
    with pytest.raises(DifferentLayouts):
        describe_way(first, other)
