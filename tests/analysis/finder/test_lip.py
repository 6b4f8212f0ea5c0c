"""Reach of the lip: from the reed term, and from what a player's own takes show."""

import numpy as np
import pytest

from analysis.acoustics import TubeModel, encode_states, find_air, find_resonances, load_geometry
from analysis.acoustics.lip import find_lip_slopes
from analysis.acoustics.transfer_matrices import Complex, Real
from analysis.finder import PlayerModel
from analysis.finder.inputs import (
    ALTISSIMO_REACH,
    USUAL_REACH,
    DynamicSpan,
    LipReach,
    LipTry,
    PlayersLip,
)
from analysis.finder.lip import find_lip_share, find_reach, learn_lip, learn_trust
from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import Register, WrittenPitch

SOPRANO = load_layout("soprano-17-6")
G5 = WrittenPitch.from_canonical("G5")


@pytest.fixture(scope="module")
def model() -> PlayerModel:
    return PlayerModel.fit("b-flat-soprano", SOPRANO, [])


def test_a_slope_is_what_a_little_more_of_the_reed_does() -> None:
    # truth: the zero of the same tube with the reed's further admittance added, found anew
    geometry = load_geometry("b-flat-soprano", "soprano-17-6")

    class Loosened(TubeModel):
        def find_reed_admittance(self, omega: Real) -> Complex:
            return super().find_reed_admittance(omega) + 0.1 * self.find_lip_admittance(omega)

    states = encode_states(parse_fingering("T R 12- | ---", SOPRANO))[np.newaxis]
    plain = TubeModel(geometry, find_air())
    cents = find_resonances(plain, states)[:, 1]
    fallen = cents - find_resonances(Loosened(geometry, find_air()), states)[:, 1]
    assert 0.1 * find_lip_slopes(plain, states, cents) == pytest.approx(fallen, rel=0.02)


def test_ordinary_notes_follow_the_lip_as_usual(model: PlayerModel) -> None:
    shares = find_lip_share(model.tube, model.tube.ordinary)
    assert np.median(shares) == pytest.approx(1.0, abs=0.1)
    assert shares.min() >= 0.5
    assert shares.max() <= 2.0


def test_a_note_goes_down_farther_than_up(model: PlayerModel) -> None:
    reach = find_reach(model.tube, model.tube.ordinary, PlayersLip())
    assert (reach.down > reach.up).all()


def test_what_a_player_showed_counts_beside_what_is_usual() -> None:
    short = [LipTry(Register.THROAT, 30.0, 18.0)] * 9
    far = [LipTry(Register.THROAT, 41.0, 1.0)]
    up = [LipTry(Register.ALTISSIMO, -24.0, -2.0)]
    assert learn_lip([]) == PlayersLip(USUAL_REACH, ALTISSIMO_REACH)
    stated = PlayersLip(LipReach(31.0, 4.0), LipReach(12.0, 3.0))
    assert learn_lip([], stated) == stated
    assert learn_lip(short).usual.sharp_cents == pytest.approx((3 * 25 + 9 * 12) / 12)
    assert learn_lip([*short, *far]).usual.sharp_cents == 40.0
    assert learn_lip(up).altissimo.flat_cents == 22.0
    assert learn_lip(up).usual == USUAL_REACH


def test_in_the_clarion_a_note_goes_up_least_beside_down(model: PlayerModel) -> None:
    # common practice, from memory: lips go down easily and up hardly, most of all in the clarion
    lip = PlayersLip()
    ratios = {
        register: reach.sharp_cents / reach.flat_cents
        for register in Register
        for reach in (lip.find_reach(register),)
    }
    assert max(ratios, key=lambda register: ratios[register]) is Register.CLARION
    assert min(ratios.values()) > 1
    ordinary = model.tube.ordinary
    share = find_lip_share(model.tube, ordinary)
    up = find_reach(model.tube, ordinary, lip).up / share
    assert set(up[ordinary.numbers == 2].round(6)) == {6.0}
    assert set(up[ordinary.numbers == 1].round(6)) == {10.0}
    raised = [LipTry(Register.CLARION, -9.0, 0.0)]
    assert learn_lip(raised).usual.flat_cents == pytest.approx(15.0)


def _spans(model: PlayerModel, power: float) -> list[DynamicSpan]:
    """Takes at several dynamics by a player whose fingerings follow the reed to some power."""
    g5 = model.tube.linkage.encode(parse_fingering("T R 123 | ---", SOPRANO))
    keys = model.tube.linkage.find_within(g5, 1)
    g5_cents = float(G5.cents)
    spots = model.tube.find_nearest(
        model.tube.linkage.find_holes(keys), np.full(len(keys), g5_cents)
    )
    return [
        DynamicSpan(model.tube.linkage.decode(int(some)), G5, 14.0 * share**power, 1.0)
        for some, share in zip(keys, find_lip_share(model.tube, spots), strict=True)
    ]


def test_takes_at_several_dynamics_check_how_fingerings_follow_the_reed(
    model: PlayerModel,
) -> None:
    assert learn_trust(model.tube, []) == 1.0
    assert learn_trust(model.tube, _spans(model, 1.0)) == pytest.approx(1.0)
    none = learn_trust(model.tube, _spans(model, 0.0))
    assert 0.0 <= none < 0.6, "spans that are all alike take trust away"
    assert learn_trust(model.tube, _spans(model, 1.5)) > 1.1
    assert learn_trust(model.tube, _spans(model, 0.0)[:1]) == 1.0
    again = learn_trust(model.tube, _spans(model, 0.0))
    assert again == none, "worked out once, and asked by what was played"
    alike = find_reach(model.tube, model.tube.ordinary, PlayersLip(), trust=0.0)
    assert set(alike.down[model.tube.ordinary.numbers < 3]) == {25.0}
