"""Changes against the base are computed from the states and said in the trade's words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.keywork import (
    DifferentLayouts,
    Effect,
    KeyStates,
    describe_changes,
    find_changes,
    load_layout,
    parse_fingering,
)
from tests.analysis.keywork.strategies import fingerings_of

SOPRANO = load_layout("soprano-17-6")
pairs = st.tuples(fingerings_of(SOPRANO), fingerings_of(SOPRANO))


@given(pairs)
def test_making_the_changes_on_the_base_gives_the_fingering(
    pair: tuple[KeyStates, KeyStates],
) -> None:
    base, fingering = pair
    made = base
    for change in find_changes(base, fingering):
        assert change.before == base.state(change.key.id)
        made = made.replaced(change.key.id, change.after)

    assert made == fingering


# The first three come from the table of known derivations: common practice, from memory.
@pytest.mark.parametrize(
    ("base", "fingering", "words"),
    [
        ("T R 123 | -2-", "T R 123 | -2- | right cross", "adds right cross key (opens)"),
        ("T R 123 | 12-", "T R 123 | 12- | right E", "adds right E key (closes)"),
        (
            "T R 123 | 123 | left F#",
            "T R (1)23 | 123 | left F#, right E",
            "adds right E key (closes), shades left first finger (was closed)",
        ),
        (
            "T R 123 | 123 | left F#",
            "T R -23 | 123 | left F#, right E",
            "adds right E key (closes), lifts left first finger (opens)",
        ),
        ("T 123 | 123 | right E", "T 123 | 123", "lifts right E key (opens)"),
        ("--- | --- | throat A", "--- | ---", "lifts throat A key (closes)"),
        ("T --- | ---", "T 1-- | ---", "adds left first finger (closes)"),
        ("T --- | ---", "T (1)-- | ---", "shades left first finger (was open)"),
        ("T (1)-- | ---", "T 1-- | ---", "adds left first finger (closes, was shaded)"),
        ("T (1)-- | ---", "T --- | ---", "lifts left first finger (opens, was shaded)"),
        ("T --- | ---", "T --- | ---", "no change"),
    ],
)
def test_every_change_is_said_in_words(base: str, fingering: str, words: str) -> None:
    changes = find_changes(parse_fingering(base, SOPRANO), parse_fingering(fingering, SOPRANO))

    assert describe_changes(changes) == words


def test_effects_are_named() -> None:
    base = parse_fingering("T 1-- | ---", SOPRANO)
    changes = find_changes(base, parse_fingering("(T) --- | 1-- | left F#", SOPRANO))

    assert {change.key.id: change.effect for change in changes} == {
        "thumb": Effect.SHADES,
        "l1": Effect.OPENS,
        "r1": Effect.CLOSES,
        "left-fs": Effect.CLOSES,
    }


def test_fingerings_of_different_layouts_are_not_compared() -> None:
    with pytest.raises(DifferentLayouts, match="Compare fingerings of one instrument"):
        find_changes(KeyStates.of(SOPRANO, {}), KeyStates.of(load_layout("bass-low-c"), {}))


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        ("T 1-- | ---", "T [1]-- | ---", "vents left first finger (was closed)"),
        ("T --- | ---", "T [1]-- | ---", "vents left first finger (was open)"),
        ("T [1]-- | ---", "T 1-- | ---", "adds left first finger (closes, was vented)"),
        ("T [1]-- | ---", "T --- | ---", "lifts left first finger (opens, was vented)"),
    ],
)
def test_a_vented_plate_is_said_as_such(before: str, after: str, words: str) -> None:
    bass = load_layout("bass-low-eb")
    changes = find_changes(parse_fingering(before, bass), parse_fingering(after, bass))
    assert describe_changes(changes) == words
