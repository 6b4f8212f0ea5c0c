"""Settings of reading: what they refuse, and their way through JSON."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import WrittenPitch
from analysis.score import (
    ReadingSettings,
    SignLasts,
    TempoAnswer,
    TrillAnswer,
    UnsuitableSetting,
    settings_from_plain,
    settings_to_plain,
)
from tests.steady_examples import any_text

SIZES = st.fractions(-250, 250, max_denominator=100)
BARS = st.integers(0, 500)
TIMES = st.fractions(0, 20, max_denominator=48)
UPPER = st.sampled_from(["D5-50c", "E4", "F#5+50/3c"]).map(WrittenPitch.from_canonical)
SETTINGS = st.builds(
    ReadingSettings,
    is_sounding=st.none() | st.booleans(),
    transposition_cents=st.none() | st.integers(-2600, 300),
    arrow_cents=st.none() | SIZES,
    stroked_cents=st.none() | SIZES,
    sign_cents=st.lists(st.tuples(any_text(min_size=1, max_size=9), SIZES), max_size=2).map(tuple),
    sign_lasts=st.none() | st.sampled_from(SignLasts),
    voice=st.none() | st.sampled_from(["1", "2.1", "top"]),
    trills=st.lists(st.builds(TrillAnswer, BARS, TIMES, UPPER), max_size=2).map(tuple),
    tempos=st.lists(st.builds(TempoAnswer, BARS, TIMES), max_size=2).map(tuple),
)


@given(SETTINGS)
def test_settings_come_back_from_json_as_they_were(settings: ReadingSettings) -> None:
    stored = json.dumps(settings_to_plain(settings))
    assert settings_from_plain(json.loads(stored)) == settings


def test_no_answers_take_no_room() -> None:
    assert settings_to_plain(ReadingSettings()) == {}


@pytest.mark.parametrize("size", [251, -300])
def test_a_sign_beyond_what_can_be_written_is_refused(size: int) -> None:
    for settings in (
        {"arrow_cents": str(size)}, {"stroked_cents": str(size)}, {"sign_cents": [["moon", size]]},
    ):  # fmt: skip
        with pytest.raises(UnsuitableSetting, match="at most 250 cents"):
            settings_from_plain(settings)


def test_an_answer_may_be_as_fine_as_it_likes() -> None:
    settings = ReadingSettings(arrow_cents=Fraction(1000, 47))
    assert settings_from_plain(settings_to_plain(settings)) == settings
