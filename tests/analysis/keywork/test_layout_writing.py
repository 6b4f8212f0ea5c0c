"""A layout that is written and read again is the same layout."""

import tomllib

import pytest
from hypothesis import given, settings

from analysis.keywork import (
    Layout,
    customise,
    load_layout,
    ordinary_fingerings,
    read_layout,
    write_layout,
)
from tests.analysis.keywork.strategies import EVERY, LAYOUTS, name_layout
from tests.analysis.keywork.test_customising import any_customised
from tests.thinning import every_daily, examples


@pytest.mark.parametrize("layout", every_daily(2, EVERY), ids=name_layout)
def test_every_layout_reads_back_as_itself(layout: Layout) -> None:
    again = read_layout(write_layout(layout))

    assert again == layout
    assert again.complete == layout.complete
    assert again.keys == layout.keys
    assert ordinary_fingerings(again) == ordinary_fingerings(layout)


@given(any_customised)
@settings(max_examples=examples(25), deadline=None)
def test_every_customised_layout_reads_back_as_itself(layout: Layout) -> None:
    assert read_layout(write_layout(layout)) == layout


def test_names_of_the_players_own_are_kept() -> None:
    mine = customise(
        load_layout("bass-low-c"),
        without=frozenset({"left-d"}),
        names={"side-1": 'the "long" one \\ é ♭', "thumb-c": "low C"},
    )

    again = read_layout(write_layout(mine))

    assert again == mine
    assert again.key("side-1").name == 'the "long" one \\ é ♭'
    assert again.customisation == mine.customisation


@pytest.mark.parametrize("layout", every_daily(3, LAYOUTS), ids=name_layout)
def test_the_text_is_written_in_full_and_in_one_way(layout: Layout) -> None:
    text = write_layout(layout)

    assert "extends" not in tomllib.loads(text)
    assert write_layout(read_layout(text)) == text
