"""Every chance has a word, and a better chance never a worse one."""

import pytest

from webapp.presenting.chances import describe_chance


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (1.0, "very likely"),
        (0.75, "very likely"),
        (0.74, "more likely than not"),
        (0.3, "less likely than not"),
        (0.1, "a long shot"),
        (0.0, "unlikely"),
    ],
)
def test_a_chance_is_said_in_words(chance: float, words: str) -> None:
    assert describe_chance(chance) == words
