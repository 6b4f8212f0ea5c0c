"""Features of the kernel: what a bound takes from large sensitivities is still unknown."""

import numpy as np
import pytest

from analysis.finder import PlayerModel
from analysis.finder.kernel import HIGH_OWN_CENTS, describe, find_is_high
from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import WrittenPitch


def test_what_the_bound_takes_from_the_measures_is_the_fingerings_own() -> None:
    # the side key's hole sounds in no ordinary note of a bass, so nothing says where it is
    layout = load_layout("bass-low-c")
    tube = PlayerModel.fit("b-flat-bass", layout, [], is_screened=False).tube
    fingerings = [parse_fingering(text, layout) for text in ("T 123 | ---", "T 123 | --- | side 4")]
    keys = np.array([tube.linkage.encode(one) for one in fingerings], dtype=np.uint64)
    cents = float(WrittenPitch.from_canonical("C4").cents)
    spots = tube.find_nearest(tube.linkage.find_holes(keys), np.array([cents, cents + 700.0]))
    own = describe(tube, spots).own
    whole = np.linalg.norm(tube.find_rows(spots), axis=1)
    fixed = own.fixed - find_is_high(spots) * HIGH_OWN_CENTS**2
    assert np.hypot(own.reach, np.sqrt(fixed)) == pytest.approx(whole)
    assert own.reach.max() < 60.0
    assert whole[1] > 2 * whole[0]
