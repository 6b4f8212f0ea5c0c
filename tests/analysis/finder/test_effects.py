"""What each key did, from pairs one key apart."""

import random
from itertools import product

import pytest

from analysis.finder import LoggedPitch, key_effects
from analysis.keywork import State, parse_fingering
from analysis.pitch import Register, WrittenPitch, register_of
from tests.analysis.finder.players import soprano


def log(text: str, written: str, offset_cents: float | None) -> LoggedPitch:
    fingering = parse_fingering(text, soprano())
    return LoggedPitch(fingering, WrittenPitch.from_canonical(written), offset_cents, 2.0)


def test_low_and_high_of_every_pair_are_found() -> None:
    logs = [
        log("T R 123 | -2-", "F#5", 2.0),
        log("T R 123 | -2- | right cross", "G5-50c", -6.0),
        log("T R 123 | ---", "G5", 0.0),
        log("T R 123 | --- | right cross", "G5", 55.0),
    ]
    finger, effect = key_effects(logs, soprano())
    assert finger.key.name == "right second finger"
    # with the cross key up 2 - 100 + 0, with it down -6 - 50 - 55: pressed it lowers
    assert (finger.low_cents, finger.high_cents) == (-111.0, -98.0)
    assert effect.key.name == "right cross key"
    assert effect.register is Register.CLARION
    # -6 on G5 - 50 cents is +44 on F#5, so 42 above its +2; the other pair is 55 apart
    assert (effect.low_cents, effect.high_cents, effect.take_count) == (42.0, 55.0, 4)


def test_other_registers_other_keys_and_silence_count_for_nothing() -> None:
    logs = [
        log("T R 123 | -2-", "F#5", 0.0),
        log("T R 123 | -2- | right cross", "B3", 0.0),
        log("T R 123 | 12- | right cross", "F5", 0.0),
        log("T R 123 | -2- | right E", "F#5", None),
    ]
    assert key_effects(logs, soprano()) == ()


def test_registers_are_apart() -> None:
    logs = [
        log(f"T {register}123 | -2-{cross}", written, cents)
        for register, written in (("", "B3"), ("R ", "F#5"))
        for cross, cents in (("", 0.0), (" | right cross", 30.0))
    ]
    found = key_effects(logs, soprano())
    assert [one.register for one in found] == [Register.CHALUMEAU, Register.CLARION]


def test_many_logs_of_few_fingerings_tell_what_comparing_all_pairs_tells() -> None:
    chance = random.Random(7)
    layout = soprano()
    texts = ("T R 123 | -2-", "T R 123 | -2- | right cross", "T R 123 | 12-", "T R 123 | 1--")
    keys = [parse_fingering(text, layout) for text in texts]
    logs = [
        LoggedPitch(
            chance.choice(keys),
            WrittenPitch.from_cents(7000 + 50 * chance.randrange(24)),
            chance.gauss(0, 30),
            2.0,
        )
        for _ in range(200)
    ]
    found = {(each.key.id, each.register): each for each in key_effects(logs, layout)}
    seen: dict[tuple[str, Register], list[tuple[float, int, int]]] = {}
    for low, high in product(range(len(logs)), repeat=2):
        changed = [
            key.id
            for key in layout.keys
            if logs[low].fingering.state(key.id) != logs[high].fingering.state(key.id)
        ]
        heights = [float(logs[each].written.cents) + (logs[each].offset_cents or 0.0)
                   for each in (low, high)]  # fmt: skip
        is_pair = len(changed) == 1 and logs[low].fingering.state(changed[0]) is State.UP
        if is_pair and abs(heights[1] - heights[0]) <= 350.0:
            name = (changed[0], register_of(logs[low].written))
            seen.setdefault(name, []).append((heights[1] - heights[0], low, high))
    assert found.keys() == seen.keys()
    for name, pairs in seen.items():
        effect = found[name]
        assert effect.low_cents == pytest.approx(min(cents for cents, _, _ in pairs))
        assert effect.high_cents == pytest.approx(max(cents for cents, _, _ in pairs))
        assert effect.take_count == len({each for _, *both in pairs for each in both})
