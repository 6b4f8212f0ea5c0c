"""What each key did, from pairs one key apart."""

from analysis.finder import LoggedPitch, key_effects
from analysis.keywork import parse_fingering
from analysis.pitch import Register, WrittenPitch
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
