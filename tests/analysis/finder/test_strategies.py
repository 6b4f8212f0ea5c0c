"""Strategies told by distance. A quarter tone is 50 cents; common practice, from memory."""

import pytest

from analysis.finder import Strategy, recognise_strategy
from analysis.pitch import WrittenPitch


def pitch(text: str) -> WrittenPitch:
    """A written pitch by its canonical text."""
    return WrittenPitch.from_canonical(text)


@pytest.mark.parametrize(
    ("base", "target", "strategy"),
    [
        ("C#5", "D5-50c", Strategy.RAISED),
        ("D5", "D5-50c", Strategy.LOWERED),
        ("D5", "D5+25c", Strategy.RAISED),
        ("D5", "D5-25c", Strategy.LOWERED),
        ("C5", "C#5", Strategy.TWO_QUARTER_TONES),
        ("D5", "C#5", Strategy.TWO_QUARTER_TONES),
        ("C5", "D5-50c", Strategy.THREE_QUARTER_TONES),
        ("D5", "C5+50c", Strategy.THREE_QUARTER_TONES),
    ],
)
def test_the_distance_names_the_strategy(base: str, target: str, strategy: Strategy) -> None:
    assert recognise_strategy(pitch(base), pitch(target)) is strategy


@pytest.mark.parametrize(
    ("cents", "strategy"),
    [
        (74.9, Strategy.RAISED),
        (75, Strategy.TWO_QUARTER_TONES),
        (124.9, Strategy.TWO_QUARTER_TONES),
        (125, Strategy.THREE_QUARTER_TONES),
        (174.9, Strategy.THREE_QUARTER_TONES),
        (175, None),
    ],
)
def test_a_limit_belongs_to_what_lies_beyond_it(cents: float, strategy: Strategy | None) -> None:
    base = pitch("C5")
    assert recognise_strategy(base, WrittenPitch.from_cents(7200 + cents)) is strategy


def test_the_same_note_has_no_strategy() -> None:
    assert recognise_strategy(pitch("C#5"), pitch("Db5")) is None


def test_every_strategy_has_words_of_its_own() -> None:
    words = [strategy.words for strategy in Strategy]
    assert len(set(words)) == len(words)
    assert all(words)
