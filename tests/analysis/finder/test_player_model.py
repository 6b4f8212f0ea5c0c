"""The player's model on simulated players: it learns, says how sure it is, and pools."""

import numpy as np
import pytest

from analysis.finder import FinderUnavailable, LoggedPitch, PlayerModel
from analysis.finder.kernel import describe
from analysis.finder.player_model import find_warming
from analysis.keywork import (
    Effect,
    KeyStates,
    find_changes,
    list_first_day,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import KINDS, Register, WrittenPitch, register_of
from tests.analysis.finder.players import (
    KIND,
    Player,
    find_pool,
    log_attempts,
    log_first_day,
    make_player,
    soprano,
)

TARGETS = [WrittenPitch.from_cents(cents) for cents in range(5250, 8500, 100)]


@pytest.fixture(scope="module")
def player() -> Player:
    return make_player("B", 21)


@pytest.fixture(scope="module")
def learned(player: Player) -> PlayerModel:
    return PlayerModel.fit(
        KIND, soprano(), log_first_day(player) + log_attempts(player, TARGETS, 50)
    )


def keys(text: str) -> KeyStates:
    return parse_fingering(text, soprano())


def pitch(text: str) -> WrittenPitch:
    return WrittenPitch.from_canonical(text)


def test_takes_make_it_better_on_fingerings_never_played(
    player: Player, learned: PlayerModel
) -> None:
    pool = find_pool(player.tube)
    pool = pool.select(np.arange(0, len(pool), 9))
    truth = player.find_cents(pool)
    new = ~np.isin(pool.codes, learned.spots.codes) & np.isfinite(truth)
    bare = np.abs(pool.cents - truth)[new]
    better = np.abs(learned.estimate(pool).mean - truth)[new]
    assert np.percentile(better, 90) < 0.8 * np.percentile(bare, 90)


@pytest.mark.parametrize("count", [0, 60])
def test_one_sigma_covers_two_thirds_or_more(
    player: Player, learned: PlayerModel, count: int
) -> None:
    # two thirds is the normal distribution's; a player like B, whose tube differs in nothing but
    # its measures, is easier than the model allows for
    model = learned if count else PlayerModel.fit(KIND, soprano(), [])
    pool = find_pool(player.tube)
    pool = pool.select(np.arange(0, len(pool), 9))
    truth = player.find_cents(pool)
    estimate = model.estimate(pool)
    inside = np.abs(estimate.mean - truth) <= np.sqrt(estimate.variance)
    assert 0.62 <= np.mean(inside[np.isfinite(truth)]) <= 0.98


@pytest.mark.parametrize("seeds", [(22,), pytest.param((22, 23), marks=pytest.mark.long_run)])
def test_the_first_day_tells_a_tube_that_is_known_well_from_one_that_is_not(
    seeds: tuple[int, ...],
) -> None:
    # of A only a maker's tolerances are unknown, of C nearly everything: what the model claims of
    # fingerings never played must differ accordingly
    def claim(name: str, seed: int) -> float:
        player = make_player(name, seed)
        model = PlayerModel.fit(KIND, soprano(), log_first_day(player))
        pool = find_pool(player.tube)
        pool = pool.select(np.arange(0, len(pool), 9))
        return float(np.median(np.sqrt(model.estimate(pool).variance)))

    known, unknown = (sum(claim(name, seed) for seed in seeds) for name in ("A", "C"))
    assert unknown > 1.5 * known


def test_altissimo_notes_move_nothing_below_the_altissimo(player: Player) -> None:
    # the altissimo is what the tube knows worst: what it is off there says nothing of the rest
    logs = log_first_day(player)
    high = [
        LoggedPitch(one.fingering, one.written, 35.0, 3.0)
        for one in ordinary_fingerings(soprano())
        if one.written.cents > pitch("C#6").cents and one.choice == 1
    ]
    before, after = (PlayerModel.fit(KIND, soprano(), some) for some in (logs, [*logs, *high]))
    pool = find_pool(player.tube)
    pool = pool.select(np.arange(0, len(pool), 9))
    assert np.array_equal(after.estimate(pool).mean, before.estimate(pool).mean)
    assert np.array_equal(after.estimate(pool).variance, before.estimate(pool).variance)
    cross, target = keys("T R -23 | --- | side 1"), pitch("E6+50c")
    assert after.predict(cross, target).offset_cents > before.predict(cross, target).offset_cents


@pytest.mark.parametrize(
    ("layout_id", "is_screened"),
    [
        ("soprano-17-6", True),
        ("bass-low-c", False),
        ("alto-low-eb", False),
        pytest.param("bass-low-c", True, marks=pytest.mark.long_run),
        pytest.param("alto-low-eb", True, marks=pytest.mark.long_run),
    ],
)
def test_the_ordinary_altissimo_is_expected_where_it_is_in_tune(
    layout_id: str, is_screened: bool
) -> None:
    # ordinary notes are in tune on a good instrument (common practice, from memory); how surely is
    # judgement: a player whose own lie within 8 cents should find that likely
    kind = {"soprano-17-6": KIND, "bass-low-c": "b-flat-bass", "alto-low-eb": "e-flat-alto"}
    layout = load_layout(layout_id)
    model = PlayerModel.fit(kind[layout_id], layout, [], is_screened=is_screened)
    for one in ordinary_fingerings(layout):
        if one.written.cents > pitch("C6").cents and one.choice == 1:
            written = KINDS[kind[layout_id]].from_treble_notation(one.written)
            found = model.predict(one.fingering, written)
            assert abs(found.offset_cents) < 8
            assert 6 < found.sigma_cents < 16


def test_closing_one_key_more_rests_on_the_tube_far_more_than_an_ordinary_note_does() -> None:
    # below the altissimo, by which no tube is calibrated
    tube = PlayerModel.fit(KIND, soprano(), []).tube
    crossed, plain = [], []
    for one in list_first_day(soprano()):
        holes = tube.linkage.find_holes(np.array([tube.linkage.encode(one.fingering)], np.uint64))
        spots = tube.find_nearest(holes, np.array([float(one.written.cents)]))
        reach = float(describe(tube, spots).own.reach[0])
        effects = {change.effect for change in find_changes(one.base.fingering, one.fingering)}
        if effects == {Effect.CLOSES}:
            crossed.append(reach)
        elif not one.is_cross and one.written.cents < pitch("C#6").cents:
            plain.append(reach)
    assert len(crossed) >= 3
    assert min(crossed) > 2.0 * max(plain)


def test_the_ordinary_notes_are_in_tune_before_anything_was_logged() -> None:
    # equal temperament, A4 = 440 Hz: what a player expects (common practice, from memory)
    model = PlayerModel.fit(KIND, soprano(), [])
    first = [one for one in ordinary_fingerings(soprano()) if one.choice == 1]
    below = [one for one in first if one.written.cents <= 8400]
    offsets = [model.predict(one.fingering, one.written).offset_cents for one in below]
    assert max(map(abs, offsets)) < 12


def test_a_measured_fingering_is_predicted_as_measured() -> None:
    cross, target = keys("T R 123 | -2- | right cross"), pitch("G5-50c")
    log = LoggedPitch(cross, target, 21.0, 1.0)
    before = PlayerModel.fit(KIND, soprano(), []).predict(cross, target)
    after = PlayerModel.fit(KIND, soprano(), [log] * 5).predict(cross, target)
    assert after.offset_cents == pytest.approx(21.0, abs=2.0)
    assert after.sigma_cents < 2.0 < before.sigma_cents


def test_an_instrument_that_is_sharp_all_over_is_learned_from_a_few_notes(player: Player) -> None:
    first = [one for one in ordinary_fingerings(soprano()) if one.choice == 1][::4]
    logs = [LoggedPitch(one.fingering, one.written, 20.0, 2.0) for one in first]
    model = PlayerModel.fit(KIND, soprano(), logs)
    d5 = next(one for one in ordinary_fingerings(soprano()) if one.written == pitch("D5"))
    assert model.predict(d5.fingering, d5.written).offset_cents > 8.0


def test_what_was_measured_in_cold_air_is_expected_higher_in_warm_air() -> None:
    # 1.5 cents a degree C, half of what free air does (judgement: breath holds the upper bore)
    cross, target = keys("T R 123 | -2- | right cross"), pitch("G5-50c")
    logs = [LoggedPitch(cross, target, 0.0, 1.0, air_c=18.0)] * 3
    cold, warm, unknown = (
        PlayerModel.fit(KIND, soprano(), logs, air_c=air_c).predict(cross, target).offset_cents
        for air_c in (18.0, 23.0, None)
    )
    assert warm - cold == pytest.approx(7.5, abs=1.0)
    assert unknown == cold


def test_takes_without_a_temperature_count_as_played_at_the_mean_of_the_others() -> None:
    cross, target = keys("T R 123 | -2- | right cross"), pitch("G5-50c")
    known = [LoggedPitch(cross, target, 0.0, 1.0, air_c=air_c) for air_c in (18.0, 22.0)]
    plain = LoggedPitch(cross, target, 0.0, 1.0)
    assert find_warming([*known, plain], 20.0)[2] == pytest.approx(0.0)
    assert find_warming([plain], 30.0)[0] == 0.0


def test_a_slip_of_the_pen_is_left_aside() -> None:
    cross = keys("T R 123 | -2- | right cross")
    slip = LoggedPitch(cross, pitch("B5"), 0.0, 1.0)
    model = PlayerModel.fit(KIND, soprano(), [slip])
    assert model.log_count == 1
    assert len(model.spots) == 0


def test_the_gain_is_said_in_figures(learned: PlayerModel) -> None:
    gain = learned.gain
    assert gain.tube_cents is not None
    assert gain.learned_cents is not None
    assert gain.learned_cents < gain.tube_cents
    assert f"to {gain.learned_cents:.0f} cents" in gain.words
    few = PlayerModel.fit(KIND, soprano(), []).gain
    assert (few.tube_cents, few.learned_cents) == (None, None)


def test_registers_of_a_fingering() -> None:
    model = PlayerModel.fit(KIND, soprano(), [])
    low, *_ = model.predict_registers(keys("T 123 | 123"))
    assert (low.register, low.written) == (Register.CHALUMEAU, pitch("G3"))
    assert abs(low.offset_cents) < 8
    vented = model.predict_registers(keys("T R 123 | 123"))
    # common practice, from memory: the twelfth above G3; B5 is no note of the altissimo
    assert [one.written for one in vented[:2]] == [pitch("D5"), pitch("B5")]
    assert {one.register for one in vented[:2]} == {Register.CLARION}
    assert {one.register for one in vented[2:]} == {Register.ALTISSIMO}
    for text in ("--- | ---", "T 123 | 123 | right E", "R --- | --- | throat A", "T R -23 | 12-"):
        for one in model.predict_registers(keys(text)):
            assert one.register is register_of(one.written)
            assert one.register is not Register.EXTENSION


def test_the_same_logs_give_the_same_model(player: Player, learned: PlayerModel) -> None:
    again = PlayerModel.fit(KIND, soprano(), learned.logs)
    cross, target = keys("T R 123 | -2- | right cross"), pitch("G5-50c")
    assert again.predict(cross, target) == learned.predict(cross, target)


def test_an_instrument_without_a_known_tube_says_which_there_are() -> None:
    with pytest.raises(FinderUnavailable, match="B-flat soprano"):
        PlayerModel.fit("b-flat-soprano", load_layout("soprano-german"), [])
