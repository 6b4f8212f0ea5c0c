"""The player of another physics is what it says, and the model is about as sure as it should be."""

import numpy as np
import pytest

from analysis.acoustics.calibration_notes import list_notes
from analysis.finder import PlayerModel
from analysis.finder.lip import learn_lip, learn_trust
from analysis.finder.spots import Spots
from analysis.pitch import Register
from tests.analysis.finder.other_lip import make_other_lip
from tests.analysis.finder.other_physics import OtherPlayer, log_first_day, make_other_player


@pytest.fixture(scope="module")
def player() -> OtherPlayer:
    return make_other_player("soprano", 21)


def test_its_ordinary_notes_are_off_by_about_six_cents(player: OtherPlayer) -> None:
    notes = list_notes(player.tube.layout)
    encoded = [player.tube.linkage.encode(note.fingering) for note in notes]
    holes = player.tube.linkage.find_holes(np.array(encoded, dtype=np.uint64))
    wanted = np.array([float(note.written.cents) for note in notes])
    errors = player.find_cents(Spots(holes, np.array([n.number for n in notes]), wanted)) - wanted
    high = np.array([note.group == Register.ALTISSIMO for note in notes])
    assert 4.0 < np.sqrt(np.mean(errors[~high] ** 2)) < 9.0
    assert np.abs(errors[high]).max() <= 8.0


@pytest.mark.parametrize("is_high", [False, True], ids=["up to the clarion", "altissimo"])
def test_two_thirds_of_its_fingerings_are_within_sigma_before_any_log(
    player: OtherPlayer, is_high: bool
) -> None:
    # two thirds is the normal distribution's; one instrument differs from the next
    spots = player.pool.spots
    spots = spots.select(np.flatnonzero((spots.numbers > 2) == is_high)[::40])
    truth = player.find_cents(spots)
    estimate = PlayerModel.fit_tube(player.tube, []).estimate(spots)
    inside = np.abs(estimate.mean - truth) <= np.sqrt(estimate.variance)
    assert 0.5 <= np.mean(inside[np.isfinite(truth)]) <= 0.85


def test_its_lip_is_shown_by_what_it_plays(player: OtherPlayer) -> None:
    # truth: the mm of the reed that the lip has, about the usual reach over ordinary notes
    lip, logs = make_other_lip(player), log_first_day(player)
    bends = lip.find_bends_of([log.fingering for log in logs], logs[0].written)
    assert (bends.down > bends.up).all()
    tries = lip.show_tries(logs)
    assert tries == make_other_lip(player).show_tries(logs)
    assert all(abs(one.watching_cents) <= abs(one.without_cents) + 8.0 for one in tries)
    assert 10.0 < learn_lip(tries).usual.sharp_cents < 50.0
    assert 0.0 <= learn_trust(player.tube, lip.show_spans(logs)) <= 1.5
