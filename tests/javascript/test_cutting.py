"""The page's cutter, run on sounds whose beginning and end are known by construction.

The figures it must keep (150 ms before, silence of 80 ms, 300 ms at least, 30 s at most) are the
project's own; decibels by formula: 20 log10 of the amplitude.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.javascript.made_sounds import cut, rest, tone
from tests.javascript.node import Node
from tests.thinning import every_daily

RATE = 48_000


def bounds_s(note: dict[str, Any]) -> tuple[float, float]:
    """When a note was first and last heard."""
    return note["onsetFrame"] / RATE, note["endFrame"] / RATE


LEVELS = [(-3, -70), (-20, -70), (-20, -45), (-20, -34), (-40, -75), (-55, -80), (-35, -46)]


@pytest.mark.parametrize(("db", "noise_db"), LEVELS)
def test_a_note_is_cut_at_its_beginning_and_end(node: Node, db: float, noise_db: float) -> None:
    found = cut(node, [rest(1), tone(db, 1.5), rest(1)], noise_db=noise_db)

    (note,) = found["notes"]
    onset_s, end_s = bounds_s(note)
    assert onset_s == pytest.approx(1.0, abs=0.015)
    assert end_s == pytest.approx(2.5, abs=0.015)
    assert note["isExact"]
    assert note["firstFrame"] == note["onsetFrame"] - 0.15 * RATE
    assert (note["lastFrame"] - note["endFrame"]) / RATE <= 0.08
    assert not (note["isClipped"] or note["hasGap"] or note["isCutOff"])


@pytest.mark.parametrize("db", [-10, -30, -50])
@pytest.mark.parametrize("chunk", [128, 512, 4096])
def test_the_end_is_known_soon(node: Node, db: float, chunk: int) -> None:
    found = cut(node, [rest(1), tone(db, 0.8), rest(1)], noise_db=-75, chunk=chunk)

    (note,) = found["notes"]
    assert (note["heard"] - note["endFrame"] - chunk) / RATE <= 0.125


@pytest.mark.parametrize("rate", [16_000, 44_100, 96_000, 192_000])
def test_every_rate_will_do(node: Node, rate: int) -> None:
    found = cut(node, [rest(0.6), tone(-20, 0.5), rest(0.5)], rate=rate)

    (note,) = found["notes"]
    assert note["onsetFrame"] / rate == pytest.approx(0.6, abs=0.015)
    assert note["isExact"]


@pytest.mark.parametrize("hz", [29.1, 58.3, 146.8, 466.2, 1975.5])
def test_the_lowest_and_the_highest_clarinet_are_notes(node: Node, hz: float) -> None:
    # B-flat contrabass at low C (29.1 Hz) to a high written C#7 on a B-flat soprano; equal
    # temperament at A = 440.
    found = cut(node, [rest(1), tone(-25, 1.2, hz), rest(1)], noise_db=-60)

    (note,) = found["notes"]
    assert bounds_s(note)[0] == pytest.approx(1.0, abs=0.03)
    assert bounds_s(note)[1] == pytest.approx(2.2, abs=0.03)


def test_a_note_follows_the_next_after_less_than_half_a_second(node: Node) -> None:
    parts = [rest(1)]
    for db in (-20, -26, -12, -30):
        parts += [tone(db, 0.6), rest(0.4)]

    found = cut(node, [*parts, rest(0.5)])

    assert len(found["notes"]) == 4
    assert [round(bounds_s(each)[0], 1) for each in found["notes"]] == [1.0, 2.0, 3.0, 4.0]
    ends = [each["lastFrame"] for each in found["notes"]]
    firsts = [each["firstFrame"] for each in found["notes"]]
    assert all(end < first for end, first in zip(ends, firsts[1:], strict=False))


def test_what_comes_before_a_note_never_belongs_to_the_one_before(node: Node) -> None:
    found = cut(node, [rest(1), tone(-20, 0.6), rest(0.16), tone(-20, 0.6), rest(0.5)])

    first, second = found["notes"]
    assert second["firstFrame"] == first["lastFrame"] + 1


@pytest.mark.parametrize("dip_s", [0.02, 0.05, 0.09])
def test_a_tongued_repeat_stays_in_the_take(node: Node, dip_s: float) -> None:
    dips = [[0.5, 0.5 + dip_s]]
    found = cut(node, [rest(1), tone(-20, 1.2, dips=dips), rest(0.5)])

    (note,) = found["notes"]
    assert bounds_s(note)[1] == pytest.approx(2.2, abs=0.015)


def test_a_longer_break_makes_two_takes(node: Node) -> None:
    found = cut(node, [rest(1), tone(-20, 1.2, dips=[[0.5, 0.65]]), rest(0.5)])
    assert len(found["notes"]) == 2


@pytest.mark.parametrize("release_s", [0.3, 1.0, 2.0])
def test_a_note_that_dies_away_is_followed_down(node: Node, release_s: float) -> None:
    found = cut(node, [rest(1), tone(-20, 3, releaseS=release_s), rest(0.6)], noise_db=-70)

    (note,) = found["notes"]
    # A straight line reaches -30 dB after 1 - 10^(-30/20) of its way.
    assert bounds_s(note)[1] == pytest.approx(4 - release_s * 10**-1.5, abs=0.03)


def test_the_echo_of_a_room_does_not_hold_the_end_back_for_long(node: Node) -> None:
    # It falls by 60 dB in 0.8 s, so by 30 dB in 0.4 s.
    found = cut(node, [rest(1), tone(-20, 1, releaseS=0, echoS=0.8), rest(2)], noise_db=-85)

    (note,) = found["notes"]
    assert 2.2 < bounds_s(note)[1] < 2.42


@pytest.mark.parametrize("attack_s", [0.005, 0.05, 0.3, 1.0])
def test_a_slow_beginning_is_kept_whole(node: Node, attack_s: float) -> None:
    found = cut(node, [rest(1), tone(-20, 2, attackS=attack_s), rest(0.6)], noise_db=-70)

    (note,) = found["notes"]
    assert note["firstFrame"] / RATE < 1.0
    assert bounds_s(note)[0] < 1.0 + 0.02 + 0.05 * attack_s


def click(db: float, s: float = 0.012) -> dict[str, object]:
    """A key that is slapped."""
    return tone(db, s, 1500.0, attackS=0.001, releaseS=0.001)


def test_keys_and_feet_are_no_notes(node: Node) -> None:
    parts = [rest(1)]
    for s in (0.005, 0.012, 0.03, 0.05, 0.15, 0.25):
        parts += [click(-8, s), rest(0.5)]

    found = cut(node, parts)

    assert found["notes"] == []
    assert len(found["begun"]) == found["dropped"] == 2, "0.15 s and 0.25 s began like a note"


def test_a_note_right_after_a_key_click_is_found_whole(node: Node) -> None:
    found = cut(node, [rest(1), click(-12), rest(0.05), tone(-24, 0.8), rest(0.5)])

    (note,) = found["notes"]
    assert note["firstFrame"] / RATE < 1.062
    assert bounds_s(note)[1] == pytest.approx(1.862, abs=0.015)


def test_a_click_does_not_end_a_soft_note(node: Node) -> None:
    # 30 dB above the note for 12 ms
    parts = [rest(1), tone(-45, 1), click(-15), tone(-45, 1), rest(0.5)]
    assert len(cut(node, parts, noise_db=-80)["notes"]) == 1


@pytest.mark.parametrize(("s", "count"), [(0.27, 0), (0.33, 1)])
def test_a_note_lasts_300_ms_at_least(node: Node, s: float, count: int) -> None:
    found = cut(node, [rest(1), tone(-20, s), rest(0.5)])
    assert len(found["notes"]) == count


def test_a_note_of_half_a_minute_is_cut_and_the_next_comes_after_silence(node: Node) -> None:
    found = cut(node, [rest(1), tone(-20, 33), rest(0.5), tone(-20, 1), rest(0.5)])

    first, second = found["notes"]
    assert first["isCutOff"] and not second["isCutOff"]
    assert first["length"] / RATE == pytest.approx(30.15, abs=0.05)
    assert bounds_s(second)[0] == pytest.approx(34.5, abs=0.015)


@pytest.mark.parametrize("noise_db", every_daily(2, [-90, -60, -35]))
def test_five_minutes_of_nothing_are_nothing(node: Node, noise_db: float) -> None:
    found = cut(node, [rest(300), tone(-20, 1), rest(0.5)], noise_db=noise_db, rate=16_000)
    assert len(found["begun"]) == len(found["notes"]) == 1


def test_perfect_silence_before_a_note_is_no_trouble(node: Node) -> None:
    found = cut(node, [rest(1), tone(-50, 1), rest(1)], noise_db=-400)
    (note,) = found["notes"]
    assert not note["hasGap"]
    assert found["levels"][0]["rmsDb"] == -90


@pytest.mark.parametrize("off_s", [0.05, 0.2, 0.6])
def test_a_microphone_that_is_silent_at_first_is_no_quiet_room(node: Node, off_s: float) -> None:
    found = cut(node, [rest(1.5), tone(-20, 1), rest(1)], noise_db=-70, off_s=off_s)
    (note,) = found["notes"]
    assert bounds_s(note) == pytest.approx((1.5, 2.5), abs=0.015)
    assert len(found["begun"]) == 1


def test_a_room_that_became_louder_is_not_part_of_the_notes(node: Node) -> None:
    # A hum 20 dB above the room begins what looks like a note; the notes stand 35 dB above it.
    hum = tone(-55, 1, 100, attackS=0, releaseS=0)
    parts = [rest(1), hum, tone(-20, 0.8), hum, tone(-20, 0.8), hum, tone(-20, 0.8), hum]
    found = cut(node, parts, noise_db=-75)

    assert [round(bounds_s(each)[0], 1) for each in found["notes"]] == [2.0, 3.8, 5.6]
    assert [round(bounds_s(each)[1], 1) for each in found["notes"]] == [2.8, 4.6, 6.4]
    assert found["begun"][1][0] / RATE == pytest.approx(3.8, abs=0.02), "learned from the first"


def test_a_fan_that_starts_ends_one_take_and_is_the_room_from_then_on(node: Node) -> None:
    # A hum from 2 s on, 25 dB above the noise before it; then notes 15 dB above the hum.
    found = cut(
        node,
        [rest(1), tone(-45, 6, 100), tone(-45, 6, 100), tone(-30, 1), tone(-45, 2, 100)],
        noise_db=-70,
        mostS=4,
    )
    assert [each["isCutOff"] for each in found["notes"]] == [True, False]
    assert bounds_s(found["notes"][1])[0] == pytest.approx(13, abs=0.05)


def test_a_note_that_sounds_already_when_it_is_armed_is_not_taken(node: Node) -> None:
    parts = [rest(1), tone(-20, 1), rest(0.4), tone(-20, 0.7), rest(0.5)]
    found = cut(node, parts, arm_s=1.5)

    (note,) = found["notes"]
    assert bounds_s(note)[0] == pytest.approx(2.4, abs=0.015)


def test_nothing_is_taken_unless_it_is_armed(node: Node) -> None:
    found = cut(node, [rest(1), tone(-20, 1), rest(0.5)], arm_s=99)
    assert found["begun"] == found["notes"] == []
    assert len(found["levels"]) == 50


def test_a_note_that_sounds_when_it_is_disarmed_is_handed_over(node: Node) -> None:
    found = cut(node, [rest(1), tone(-20, 2), rest(0.5)], disarm_s=2)
    (note,) = found["notes"]
    assert bounds_s(note)[1] == pytest.approx(2, abs=0.03)


def test_a_beginning_when_it_is_disarmed_is_let_go(node: Node) -> None:
    found = cut(node, [rest(1), tone(-20, 2), rest(0.5)], disarm_s=1.2)
    assert found["notes"] == [] and found["dropped"] == 1


@pytest.mark.parametrize(
    ("db", "is_clipped"),
    # The tone's crest stands 2.4 dB above its mean square (below): what is louder is cut.
    [(6, True), (-1.5, True), (-3, False), (-20, False)],
)
def test_a_note_too_loud_for_the_microphone_is_marked(
    node: Node, db: float, is_clipped: bool
) -> None:
    found = cut(node, [rest(1), tone(db, 1), rest(0.5)])
    (note,) = found["notes"]
    assert note["isClipped"] is is_clipped
    assert any(each["isClipped"] for each in found["levels"]) is is_clipped
    assert (note["peakDb"] > -0.01) is is_clipped


def test_levels_are_in_decibels(node: Node) -> None:
    found = cut(node, [rest(1), tone(-20, 1), rest(0.5)], noise_db=-60)

    quiet, loud = found["levels"][10], found["levels"][30]
    assert quiet["rmsDb"] == pytest.approx(-60, abs=0.5)
    assert quiet["floorDb"] == pytest.approx(-60, abs=1)
    assert loud["rmsDb"] == pytest.approx(-20, abs=0.3)
    # The crest of the three partials by their formula; the noise adds up to 0.12 dB to it.
    weights = (0.9, 0.38, 0.2)
    crest = max(
        abs(sum(w * math.sin(n * x) for n, w in zip((1, 3, 5), weights, strict=True)))
        for x in (2 * math.pi * k / 4000 for k in range(4000))
    )
    whole = math.hypot(*weights) / math.sqrt(2)
    assert loud["peakDb"] == pytest.approx(-20 + 20 * math.log10(crest / whole), abs=0.15)


def test_lost_frames_are_said(node: Node) -> None:
    parts = [rest(1), tone(-20, 2), rest(0.5)]
    found = cut(node, parts, lose=(1.5, 1.54))

    (note,) = found["notes"]
    assert note["hasGap"]
    assert bounds_s(note) == pytest.approx((1.0, 3.0), abs=0.015), "time goes on meanwhile"


def test_frames_lost_while_nobody_plays_do_no_harm(node: Node) -> None:
    found = cut(node, [rest(2), tone(-20, 1), rest(0.5)], lose=(1.0, 1.1))
    (note,) = found["notes"]
    assert not note["hasGap"]


def test_after_a_long_loss_a_new_take_needs_silence_first(node: Node) -> None:
    parts = [rest(1), tone(-20, 4), rest(0.5), tone(-20, 1), rest(0.5)]
    found = cut(node, parts, lose=(2.0, 3.5))

    first, second = found["notes"]
    assert bounds_s(first) == pytest.approx((1.0, 2.0), abs=0.02)
    assert bounds_s(second)[0] == pytest.approx(5.5, abs=0.015)


def test_sound_that_drops_out_within_a_note_is_said(node: Node) -> None:
    whole = cut(node, [rest(1), tone(-20, 2), rest(0.5)], noise_db=-400)
    broken = cut(node, [rest(1), tone(-20, 2, dips=[[1, 1.006]]), rest(0.5)], noise_db=-400)
    assert [each["hasGap"] for each in whole["notes"]] == [False]
    assert [each["hasGap"] for each in broken["notes"]] == [True]


def slur(hz: float, other_hz: float, *, note_s: float, count: int) -> list[dict[str, object]]:
    """A slur back and forth, of which the level stays."""
    return [tone(-20, note_s, hz=each) for _ in range(count) for each in (hz, other_hz)]


@pytest.mark.parametrize(("note_s", "other_hz"), [(0.4, 466.2), (0.125, 466.2), (0.1, 880.0)])
def test_a_slur_back_and_forth_is_one_note(node: Node, note_s: float, other_hz: float) -> None:
    played = slur(440.0, other_hz, note_s=note_s, count=round(2 / note_s))
    found = cut(node, [rest(1), *played, rest(1.5)], end_after_s=0.8)

    (note,) = found["notes"]
    assert bounds_s(note) == pytest.approx((1.0, 1.0 + len(played) * note_s), abs=0.02)
    assert found["noises"] == []


def test_a_register_break_ends_a_held_note_and_no_slur(node: Node) -> None:
    half = slur(440.0, 659.3, note_s=0.25, count=4)
    parts = [rest(1), *half, rest(0.5), *half, rest(1.5)]

    assert len(cut(node, parts, end_after_s=0.8)["notes"]) == 1
    assert len(cut(node, parts)["notes"]) == 2
