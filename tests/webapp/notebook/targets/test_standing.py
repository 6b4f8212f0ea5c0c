"""How a fingering stands to a note. The bounds are those of the requirement.

In tune within the tolerance (10 cents, or the note's own); near where the lip can close what is
missing: sharp by up to 25 cents, flat by up to 10, in the altissimo 40 and 15 (common practice,
from memory).
"""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.finder.inputs import ALTISSIMO_REACH, USUAL_LIP
from analysis.pitch import WrittenPitch
from tests.webapp.notebook.targets.judging import (
    ALTERNATE,
    INSTRUMENT,
    MINE,
    REJECTED,
    facts,
    judged,
    note,
)
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.standing import (
    Standing,
    Word,
    judge,
    note_of,
    round_as_shown,
)


@pytest.mark.parametrize(
    ("offset_cents", "standing"),
    [
        (0.0, Standing.IN_TUNE),
        (10.0, Standing.IN_TUNE),
        (-10.0, Standing.IN_TUNE),
        (10.04, Standing.IN_TUNE),  # shown as 10.0
        (-10.04, Standing.IN_TUNE),
        (10.06, Standing.NEAR),
        (25.0, Standing.NEAR),
        (25.06, Standing.ELSEWHERE),
        (-10.06, Standing.ELSEWHERE),
        (-24.0, Standing.ELSEWHERE),
        (None, Standing.NOT_TRIED),
    ],
)
def test_where_it_sounds_says_how_it_stands(offset_cents: float | None, standing: Standing) -> None:
    found = judged(offset_cents)
    assert found.standing is standing
    assert found.offset_cents == (None if offset_cents is None else pytest.approx(offset_cents))


@pytest.mark.parametrize(
    ("tolerance_cents", "offset_cents", "standing"),
    [
        (5.0, 5.0, Standing.IN_TUNE),
        (5.0, 6.0, Standing.NEAR),
        (5.0, -6.0, Standing.NEAR),
        (5.0, -10.1, Standing.ELSEWHERE),
        (20.0, 20.0, Standing.IN_TUNE),
        (20.0, -20.0, Standing.IN_TUNE),
        (20.0, 21.0, Standing.NEAR),
        (20.0, -20.1, Standing.ELSEWHERE),
        # wider than the lip reaches: nothing is near, it is in tune or elsewhere
        (30.0, 29.9, Standing.IN_TUNE),
        (30.0, 30.1, Standing.ELSEWHERE),
        (30.0, -30.1, Standing.ELSEWHERE),
    ],
)
def test_the_tolerance_is_the_notes_and_may_leave_nothing_near(
    tolerance_cents: float, offset_cents: float, standing: Standing
) -> None:
    assert judge(facts(offset_cents), note(tolerance_cents)).standing is standing


@pytest.mark.parametrize(
    ("offset_cents", "standing"),
    [(40.0, Standing.NEAR), (40.1, Standing.ELSEWHERE), (-15.0, Standing.NEAR),
     (-15.1, Standing.ELSEWHERE)],
)  # fmt: skip
def test_in_the_altissimo_the_lip_reaches_farther(offset_cents: float, standing: Standing) -> None:
    high = note(written=WrittenPitch.from_canonical("D6"))
    assert high.reach == ALTISSIMO_REACH
    known = facts(0.0, sounding_cents=high.sounding.cents + offset_cents)
    assert judge(known, high).standing is standing


def test_the_altissimo_begins_at_the_same_note_in_bass_clef() -> None:
    bass = Instrument(
        kind_id="b-flat-bass-bass-clef", layout_id="bass-low-eb", transposition_cents=-200
    )
    for canonical, reach in (("C6", USUAL_LIP.clarion), ("D6", ALTISSIMO_REACH)):
        written = WrittenPitch.from_canonical(canonical)
        assert note_of(INSTRUMENT, written, 10.0).reach == reach
        lower = WrittenPitch.from_cents(written.cents - 1200)
        assert note_of(bass, lower, 10.0).reach == reach


@pytest.mark.parametrize("offset_cents", [None, 0.0, 80.0])
def test_what_does_not_speak_stands_so_whatever_else_is_known(offset_cents: float | None) -> None:
    assert judged(offset_cents, MINE, does_not_speak=True).standing is Standing.SILENT


def test_where_it_sounds_decides_and_not_what_it_was_logged_for() -> None:
    strange = facts(3.0, target_text="E5", target_cents=7400.0)
    assert judge(strange, note()).standing is Standing.IN_TUNE
    meant = facts(None, target_text="E5", target_cents=7400.0, sounding_cents=7400.0)
    assert judge(meant, note()).offset_cents is None


@pytest.mark.parametrize(
    ("offset_cents", "word", "is_solution", "is_held"),
    [
        (0.0, None, True, False),
        (20.0, None, False, False),
        (None, None, False, False),
        (20.0, MINE, True, True),
        (None, MINE, False, True),
        (-40.0, MINE, False, False),
        (0.0, REJECTED, False, False),
        (20.0, ALTERNATE, False, False),
        (0.0, ALTERNATE, True, False),
    ],
)
def test_solved_is_in_tune_or_the_players_own_and_near_and_never_rejected(
    offset_cents: float | None, word: Word | None, is_solution: bool, is_held: bool
) -> None:
    found = judged(offset_cents, word)
    assert (found.is_solution, found.is_held_choice) == (is_solution, is_held)
    assert not judged(offset_cents, word, does_not_speak=True).is_solution


@given(offset_cents=st.floats(-200, 200), tolerance_cents=st.floats(1, 50), is_high=st.booleans())
def test_a_smaller_offset_on_the_same_side_never_stands_worse(
    offset_cents: float, tolerance_cents: float, is_high: bool
) -> None:
    written = WrittenPitch.from_canonical("D6" if is_high else "D5")
    wanted = note(tolerance_cents, written)
    order = [Standing.IN_TUNE, Standing.NEAR, Standing.ELSEWHERE]
    places = [
        order.index(
            judge(
                facts(0.0, sounding_cents=wanted.sounding.cents + part * offset_cents), wanted
            ).standing
        )
        for part in (0.0, 0.25, 0.5, 1.0)
    ]
    assert places[0] == 0
    assert all(near <= far for near, far in pairwise(places))


@given(st.lists(st.floats(-2000, 2000) | st.integers(-40_000, 40_000).map(lambda each: each / 20)))
def test_what_is_compared_is_rounded_as_it_is_printed(cents: list[float]) -> None:
    # Python, "Built-in Functions", round: the exact value decides, ties go to even
    shown = round_as_shown(np.array(cents, dtype=float))
    assert shown.tolist() == [round(each, 1) for each in cents]
    assert np.isnan(round_as_shown(np.array([np.nan]))).all()
