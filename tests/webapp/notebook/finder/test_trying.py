"""The first take of a try logs it, once."""

import pytest

from analysis.finder import Strategy
from tests.webapp.finder_fakes import E5, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import add_clarinet, log
from webapp.notebook.finder.tries import SuggestionNote, open_try, settle_try, take_up
from webapp.notebook.finder.trying import log_try
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import TryState


@pytest.fixture
def instrument(notebook: Notebook, fake_finder: FakeFinder) -> int:
    del fake_finder
    return add_clarinet(notebook)


def suggest(notebook: Notebook, instrument: int, target: str = "F5-50c", base: str = "") -> int:
    note = SuggestionNote(target, RAISED_E5, base, Strategy.RAISED)
    return take_up(notebook, ResultCache(), instrument, note)


def test_a_try_is_logged_as_it_was_suggested_and_only_once(
    notebook: Notebook, instrument: int
) -> None:
    number = suggest(notebook, instrument, base="ordinary:E5:1")
    logged = log_try(notebook, number)
    assert log_try(notebook, number) == logged
    fingering = open_fingering(notebook, logged).fingering
    assert (fingering.target_text, fingering.keys_text) == ("F5-50c", RAISED_E5)
    assert (fingering.strategy, fingering.take_count) == ("raised", 0)
    assert (fingering.base_keys_text, fingering.base_written_text) == (E5, "E5")
    row = open_try(notebook, number)
    assert (row.state, row.fingering_id) == (TryState.TRIED, logged)


# Bb4 reads as "B4" in German, and "B4" as B flat: the target must not change on the way.
@pytest.mark.parametrize("target", ["Bb4", "B4", "B4-50c", "D5+50/3c", "A4+6843/500c"])
def test_every_target_arrives_as_it_was_meant(
    notebook: Notebook, instrument: int, target: str
) -> None:
    logged = log_try(notebook, suggest(notebook, instrument, target))
    assert open_fingering(notebook, logged).fingering.target_text == target


def test_a_base_that_is_gone_is_kept_as_it_was(notebook: Notebook, instrument: int) -> None:
    base = log(notebook, instrument, "E5", E5)
    number = suggest(notebook, instrument, base=f"logged:{base}")
    put_in_bin(notebook, "fingering", base)
    empty_bin(notebook)
    fingering = open_fingering(notebook, log_try(notebook, number)).fingering
    assert fingering.base_id is None
    assert (fingering.base_keys_text, fingering.base_written_text) == (E5, "E5")


def test_a_base_in_the_notebook_is_linked(notebook: Notebook, instrument: int) -> None:
    base = log(notebook, instrument, "E5", E5)
    number = suggest(notebook, instrument, base=f"logged:{base}")
    fingering = open_fingering(notebook, log_try(notebook, number)).fingering
    assert (fingering.base_id, fingering.base_keys_text) == (base, E5)


def test_a_try_dismissed_while_its_take_waited_is_logged_all_the_same(
    notebook: Notebook, instrument: int
) -> None:
    number = suggest(notebook, instrument)
    settle_try(notebook, number, TryState.DISMISSED)
    assert log_try(notebook, number)
    assert open_try(notebook, number).state == TryState.TRIED


@pytest.mark.parametrize("number", [99, 2**70])
def test_a_try_that_is_not_there_is_said(notebook: Notebook, number: int) -> None:
    with pytest.raises(NotInNotebook, match="no try number"):
        log_try(notebook, number)
