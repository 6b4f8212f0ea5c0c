"""Steady noise that begins while the page listens: a fan, breath, a road. None of it is a take."""

from __future__ import annotations

import pytest

from tests.javascript.made_sounds import cut, noise, rest, tone
from tests.javascript.node import Node
from tests.thinning import each_daily

RATE = 48_000
COLOURS = ("white", "brown")


@pytest.mark.parametrize(("colour", "seed"), each_daily(COLOURS, [1, 2, 3]))
def test_a_fan_that_starts_is_no_take_and_the_room_from_then_on(
    node: Node, colour: str, seed: int
) -> None:
    found = cut(node, [rest(1), noise(-40, 40, colour)], noise_db=-75, seed=seed)
    assert found["notes"] == []
    assert found["noises"] and found["noises"][0] / RATE == pytest.approx(4, abs=0.1)
    assert len(found["noises"]) <= 2


@pytest.mark.parametrize("colour", COLOURS)
@pytest.mark.parametrize("s", [0.4, 1.0, 2.5])
def test_a_breath_is_no_take(node: Node, colour: str, s: float) -> None:
    found = cut(node, [rest(1), noise(-35, s, colour), rest(1)], noise_db=-75)
    assert found["notes"] == [] and len(found["noises"]) == 1


@pytest.mark.parametrize("from_s", [1.0, 2.95, 3.1, 8.0])
def test_a_note_played_in_the_noise_of_a_fan_is_kept_whole(node: Node, from_s: float) -> None:
    fan = noise(-50, 12, hz=440.0, toneDb=-25.0, fromS=from_s)
    found = cut(node, [rest(1), fan, rest(1)], noise_db=-75)
    (note,) = found["notes"]
    assert note["firstFrame"] / RATE < 1 + from_s
    assert note["lastFrame"] / RATE >= 1 + from_s + 0.98


@pytest.mark.parametrize("hz", [29.1, 58.3, 146.8, 466.2, 1975.5])
@pytest.mark.parametrize("s", [0.35, 4.0])
def test_a_tone_is_never_taken_for_noise(node: Node, hz: float, s: float) -> None:
    found = cut(node, [rest(1), tone(-35, s, hz), rest(0.6)], noise_db=-50)
    assert len(found["notes"]) == 1 and found["noises"] == []


def test_a_breathy_tone_is_a_note(node: Node) -> None:
    # the breath is as loud as the tone
    part = noise(-40, 1, hz=233.0, toneDb=-40.0, fromS=0.0)
    assert len(cut(node, [rest(1), part, rest(1)], noise_db=-75)["notes"]) == 1


@pytest.mark.parametrize("rate", [16_000, 44_100, 96_000])
def test_every_rate_will_do(node: Node, rate: int) -> None:
    parts = [rest(1), noise(-35, 1), rest(1), tone(-30, 0.5), rest(0.6)]
    found = cut(node, parts, rate=rate)
    assert len(found["noises"]) == len(found["notes"]) == 1
