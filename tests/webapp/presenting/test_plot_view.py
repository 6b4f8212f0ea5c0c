"""Zooming by links: never outside the whole, never smaller than can be seen, and back again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.recording.spectrogram import View
from webapp.notebook.store.errors import Refused
from webapp.presenting.plot_view import (
    HIGHEST_HZ,
    LOWEST_HZ,
    list_moves,
    query_of,
    read_view,
    whole_view,
)

WHOLE = whole_view(3.0, 440.0)


def test_the_whole_reaches_from_under_the_fundamental_to_8_khz() -> None:
    assert View(0.0, 3.0, 220.0, 8000.0) == WHOLE
    assert read_view({}, WHOLE) == WHOLE


def test_a_view_is_read_within_the_whole() -> None:
    asked = {"from": "-1", "to": "99", "low": "1", "high": "99999"}
    assert read_view(asked, WHOLE) == View(0.0, 3.0, LOWEST_HZ, HIGHEST_HZ)


@pytest.mark.parametrize(
    "asked", [{"from": "2", "to": "1"}, {"from": "one"}, {"to": "inf"}, {"low": "500", "high": "4"}]
)
def test_what_shows_nothing_is_refused_in_a_sentence(asked: dict[str, str]) -> None:
    with pytest.raises(Refused, match=r"\."):
        read_view(asked, WHOLE)


@given(st.lists(st.integers(0, 7), max_size=12))
def test_every_way_of_links_stays_inside_and_can_be_read(way: list[int]) -> None:
    view = WHOLE
    for step in way:
        move = list_moves(view, WHOLE)[step]
        if move.query is None:
            continue
        view = read_view(move.query, WHOLE)
        assert 0 <= view.from_s < view.to_s <= WHOLE.to_s
        assert LOWEST_HZ <= view.low_hz < view.high_hz <= HIGHEST_HZ
    back = list_moves(view, WHOLE)[-1].query
    assert back is None or read_view(back, WHOLE) == WHOLE


def test_closer_halves_what_is_seen_about_its_middle() -> None:
    view = View(1.0, 2.0, 200.0, 3200.0)
    moves = {each.words: each.query for each in list_moves(view, WHOLE)}
    assert moves["Closer in time"] == {**query_of(view), "from": "1.25", "to": "1.75"}
    # four octaves about 800 Hz become two
    assert moves["Closer in pitch"] == {**query_of(view), "low": "400", "high": "1600"}
    assert moves["Earlier"] == {**query_of(view), "from": "0.5", "to": "1.5"}


def test_links_that_lead_nowhere_further_are_none() -> None:
    moves = {each.words: each.query for each in list_moves(WHOLE, WHOLE)}
    for words in ("Wider in time", "Earlier", "Later", "Higher", "The whole take"):
        assert moves[words] is None
    assert moves["Closer in time"] is not None
