"""Timbral alternatives: the same pitch from other holes, the most different first."""

import pytest

from analysis.finder import (
    PlayerModel,
    Wishes,
    find_colour_distances,
    find_colours,
)
from analysis.keywork import KeyStates, are_acoustically_equal, parse_fingering
from analysis.pitch import WrittenPitch
from tests.analysis.finder.players import KIND, soprano

G5 = WrittenPitch.from_canonical("G5")
WISHES = Wishes(most_changes=1)


def keys(text: str) -> KeyStates:
    return parse_fingering(text, soprano())


@pytest.fixture(scope="module")
def model() -> PlayerModel:
    return PlayerModel.fit(KIND, soprano(), [], is_screened=False)


def test_they_have_the_pitch_and_other_holes_and_are_in_order(model: PlayerModel) -> None:
    reference = keys("T R 123 | ---")
    found = find_colours(G5, model=model, reference=reference, wishes=WISHES)
    assert found
    distances = [one.colour_db for one in found]
    assert distances == sorted(distances, reverse=True)
    for one in found:
        assert abs(one.offset_cents) <= WISHES.tolerance_cents
        assert not are_acoustically_equal(one.fingering, reference)


def test_what_was_dismissed_is_left_out(model: PlayerModel) -> None:
    reference = keys("T R 123 | ---")
    text = "T R 123 | --- | G#/Eb"
    every = find_colours(G5, model=model, reference=reference, wishes=WISHES)
    assert keys(text) in [one.fingering for one in every]
    fewer = Wishes(most_changes=1, dismissed=frozenset({text}))
    left = find_colours(G5, model=model, reference=reference, wishes=fewer)
    assert keys(text) not in [one.fingering for one in left]


def test_the_same_holes_have_the_same_colour(model: PlayerModel) -> None:
    c5 = WrittenPitch.from_canonical("C5")
    left, right = keys("T R 123 | 123 | left F"), keys("T R 123 | 123 | right F")
    distances = find_colour_distances(model, c5, left, [right, keys("T R 123 | 123 | left E")])
    assert distances[0] == pytest.approx(0.0, abs=1e-9)
    assert distances[1] > 1.0


def test_the_highest_notes_have_colours_as_well(model: PlayerModel) -> None:
    a6 = WrittenPitch.from_canonical("A6")  # its eighth harmonic lies above what a bell gives back
    one, other = keys("T R 12- | 1--"), keys("T R -2- | 1--")
    assert find_colour_distances(model, a6, one, [other])[0] > 0.5
