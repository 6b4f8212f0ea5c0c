"""The demo's data: complete, playable, plausible, and plainly invented."""

from collections import Counter
from datetime import timedelta
from statistics import median

import pytest

from analysis.finder import Strategy, recognise_strategy
from analysis.keywork import (
    Effect,
    KeyStates,
    check_playable,
    find_changes,
    format_fingering,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import (
    KINDS,
    NoteNames,
    Register,
    Tuning,
    WrittenPitch,
    parse_pitch,
    register_of,
    resolve_written,
)
from webapp.notebook.demo.story import ORDINARY, DemoFingering, DemoInstrument, DemoTake, read_story
from webapp.notebook.takes.takes import DYNAMICS

LOGGED = [(each, owner) for owner in read_story() for each in owner.fingerings]
BY_NAME = {each.name: each for each, _ in LOGGED}
TAKES = [(take, each) for each, _ in LOGGED for take in each.takes]

every_fingering = pytest.mark.parametrize(
    ("fingering", "instrument"), LOGGED, ids=[each.name for each, _ in LOGGED]
)


def keys_of(fingering: DemoFingering, instrument: DemoInstrument) -> KeyStates:
    return parse_fingering(fingering.keys, load_layout(instrument.layout))


def written_of(fingering: DemoFingering, instrument: DemoInstrument) -> WrittenPitch:
    return resolve_written(
        parse_pitch(fingering.target, names=NoteNames.ENGLISH),
        transposition=KINDS[instrument.kind].transposition,
        tuning=Tuning(instrument.tuning_a_hz),
    )


def offset_of(fingering: DemoFingering) -> float | None:
    offsets = [take.offset_cents for take in fingering.takes if not take.is_silent]
    return median(offsets) if offsets else None


def base_of(
    fingering: DemoFingering, instrument: DemoInstrument
) -> tuple[KeyStates, WrittenPitch, float | None] | None:
    """Return the base's key states, target and offset; ordinary notes count as in tune."""
    if not fingering.base:
        return None
    if fingering.is_from_logged:
        base = BY_NAME[fingering.base]
        return keys_of(base, instrument), written_of(base, instrument), offset_of(base)
    note, choice = fingering.base.removeprefix(ORDINARY).split(":")
    found = next(
        each
        for each in ordinary_fingerings(load_layout(instrument.layout))
        if each.written.canonical == note and each.choice == int(choice)
    )
    return found.fingering, found.written, 0.0


@every_fingering
def test_two_hands_can_hold_every_fingering(
    fingering: DemoFingering, instrument: DemoInstrument
) -> None:
    check_playable(keys_of(fingering, instrument))


@every_fingering
def test_key_states_stand_in_canonical_text(
    fingering: DemoFingering, instrument: DemoInstrument
) -> None:
    assert format_fingering(keys_of(fingering, instrument)) == fingering.keys


@every_fingering
def test_a_base_is_logged_earlier_on_the_same_instrument_and_differs(
    fingering: DemoFingering, instrument: DemoInstrument
) -> None:
    base = base_of(fingering, instrument)
    if base is None:
        assert fingering.strategy is Strategy.FOUND
        return
    assert find_changes(base[0], keys_of(fingering, instrument))
    if fingering.is_from_logged:
        assert BY_NAME[fingering.base] in instrument.fingerings
        assert BY_NAME[fingering.base].logged_at < fingering.logged_at


@every_fingering
def test_the_strategy_is_the_one_that_the_distance_from_the_base_gives(
    fingering: DemoFingering, instrument: DemoInstrument
) -> None:
    base = base_of(fingering, instrument)
    if base is None or fingering.strategy in (Strategy.COMBINATION, Strategy.FOUND):
        return
    target = written_of(fingering, instrument)
    assert recognise_strategy(base[1], target) is fingering.strategy


@every_fingering
def test_opening_raises_and_closing_lowers_by_a_plausible_amount(
    fingering: DemoFingering, instrument: DemoInstrument
) -> None:
    # Keys that open a hole raise the pitch, keys that close one lower it; three quarter tones are
    # the most that is derived in one move (common practice, from memory).
    base, offset = base_of(fingering, instrument), offset_of(fingering)
    if base is None or base[2] is None or offset is None:
        return
    effects = {change.effect for change in find_changes(base[0], keys_of(fingering, instrument))}
    moved = float(written_of(fingering, instrument).cents - base[1].cents) + offset - base[2]
    if effects == {Effect.OPENS}:
        assert 10 < moved < 175
    elif effects <= {Effect.CLOSES, Effect.SHADES}:
        assert -75 < moved < -3
    else:
        assert abs(moved) < 175


@pytest.mark.parametrize(
    ("name", "about_cents"),
    [
        # Right cross key on F#5, and low E key on E5: common practice, from memory.
        ("g-qf-5-fork", 50),
        ("e-qf-5-low-e", -50),
    ],
)
def test_well_known_changes_move_the_pitch_as_players_know(name: str, about_cents: float) -> None:
    fingering, instrument = next(pair for pair in LOGGED if pair[0].name == name)
    base, offset = base_of(fingering, instrument), offset_of(fingering)
    assert base is not None and base[2] is not None and offset is not None
    moved = float(written_of(fingering, instrument).cents - base[1].cents) + offset - base[2]
    assert moved == pytest.approx(about_cents, abs=5)


def test_there_are_about_fifty_fingerings_over_two_instruments() -> None:
    assert [each.kind for each in read_story()] == ["b-flat-soprano", "b-flat-bass"]
    assert 44 <= len(LOGGED) <= 54
    assert len(BY_NAME) == len(LOGGED)


def test_every_strategy_and_every_resistance_occurs() -> None:
    assert {each.strategy for each, _ in LOGGED} == set(Strategy)
    assert {each.resistance for each, _ in LOGGED} >= {1, 2, 3, 4, 5}


def test_some_fail_some_are_not_measured_yet_and_two_have_half_holes() -> None:
    failed = [each for each, _ in LOGGED if each.does_not_speak]
    waiting = [each for each, _ in LOGGED if not each.takes and not each.does_not_speak]
    half_holes = [each for each, owner in LOGGED if keys_of(each, owner).has_half_hole]
    assert len(failed) >= 3 and not any(each.takes for each in failed)
    assert len(waiting) >= 2
    assert len(half_holes) == 2


def test_one_lineage_goes_through_three_logged_generations() -> None:
    def depth(fingering: DemoFingering) -> int:
        return 1 + depth(BY_NAME[fingering.base]) if fingering.is_from_logged else 0

    assert max(depth(each) for each, _ in LOGGED) == 3


def test_registers_of_the_bass_are_left_empty() -> None:
    bass = read_story()[1]
    registers = Counter(register_of(written_of(each, bass)) for each in bass.fingerings)
    assert not registers[Register.EXTENSION] and not registers[Register.ALTISSIMO]


def test_takes_show_an_outlier_a_silence_and_a_vibrato() -> None:
    outliers = [take for take, each in TAKES if is_outlier(take, each)]
    assert len(outliers) == 1
    assert sum(take.is_silent for take, _ in TAKES) == 1
    assert sum(take.vibrato_cents > 0 for take, _ in TAKES) == 1


def is_outlier(take: DemoTake, fingering: DemoFingering) -> bool:
    middle = offset_of(fingering)
    return len(fingering.takes) > 2 and middle is not None and abs(take.offset_cents - middle) > 15


def test_takes_follow_their_fingering_in_order_of_time() -> None:
    for fingering, _ in LOGGED:
        times = [fingering.logged_at, *(take.at for take in fingering.takes)]
        assert times == sorted(set(times))
        assert all(each.utcoffset() == timedelta(0) for each in times)


def test_some_fingerings_are_taken_again_on_another_day_and_at_another_dynamic() -> None:
    pairs = [
        (first, last)
        for each, _ in LOGGED
        if len(each.takes) > 1
        for first, last in [(each.takes[0], each.takes[-1])]
    ]
    assert sum(last.at - first.at > timedelta(hours=18) for first, last in pairs) >= 5
    assert sum(last.dynamic != first.dynamic for first, last in pairs) >= 5
    assert {take.dynamic for take, _ in TAKES} - {None} <= set(DYNAMICS)


def test_everything_is_labelled_invented() -> None:
    for instrument in read_story():
        assert instrument.name.startswith("Invented ")
        assert instrument.notes.startswith("Invented for this demo")
        for setup in (instrument.mouthpiece, instrument.reed, instrument.barrel):
            assert setup == "" or setup.endswith(" (invented)")


def test_texts_are_short_and_point_to_nothing_outside() -> None:
    for fingering, _ in LOGGED:
        texts = (fingering.notes, fingering.resistance_notes, *fingering.tags)
        assert fingering.notes
        assert all(len(text) <= 120 for text in texts)
        assert not any(mark in text for text in texts for mark in ("http", "www", "@", "™", "©"))
