"""Predictions are compared with measurements against the same target."""

import pytest

from analysis.finder import Strategy
from analysis.recording import Verdict
from tests.webapp.finder_fakes import RAISED_E5, FakeFinder
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, draft, log
from webapp.notebook.finder.tries import SuggestionNote, take_up
from webapp.notebook.finder.trust import open_trust
from webapp.notebook.fingerings.fingerings import change_fingering
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache

TARGET = "F5-50c"
# On a B-flat soprano it sounds a whole tone lower: 550 cents above A4 (closed formula).
TARGET_HZ = 440 * 2 ** (550 / 1200)


@pytest.fixture
def instrument(notebook: Notebook, fake_finder: FakeFinder) -> int:
    """An instrument whose finder is the fake."""
    del fake_finder
    return add_clarinet(notebook)


def try_it(notebook: Notebook, instrument: int) -> int:
    """Take a suggestion up and log it; the fake predicts -7 with an uncertainty of 12."""
    note = SuggestionNote(TARGET, RAISED_E5, "ordinary:E5:1", Strategy.RAISED)
    number = take_up(notebook, ResultCache(), instrument, note)
    return log(notebook, instrument, TARGET, RAISED_E5, suggestion_id=number)


def test_a_measured_try_is_compared(
    notebook: Notebook, instrument: int, take_maker: TakeMaker
) -> None:
    entry = try_it(notebook, instrument)
    assert open_trust(notebook, instrument).compared == ()
    take_maker(notebook, entry, None, verdict=Verdict.NOISE)
    assert open_trust(notebook, instrument).compared == ()
    take_maker(notebook, entry, TARGET_HZ * 2 ** (10 / 1200))
    (point,) = open_trust(notebook, instrument).points
    assert point.measured_cents == pytest.approx(10.0)
    assert point.miss_cents == pytest.approx(17.0)
    assert not point.is_within


def test_a_target_that_was_changed_since_changes_no_comparison(
    notebook: Notebook, instrument: int, take_maker: TakeMaker
) -> None:
    entry = try_it(notebook, instrument)
    take_maker(notebook, entry, TARGET_HZ)
    change_fingering(notebook, entry, draft("F5", RAISED_E5), seen_version=1, names=ENGLISH)
    (point,) = open_trust(notebook, instrument).points
    assert point.measured_cents == pytest.approx(0.0)


def test_what_lies_in_the_bin_and_other_instruments_do_not_count(
    notebook: Notebook, instrument: int, take_maker: TakeMaker
) -> None:
    entry = try_it(notebook, instrument)
    take_maker(notebook, entry, TARGET_HZ)
    assert open_trust(notebook, add_clarinet(notebook, "Other")).compared == ()
    put_in_bin(notebook, "fingering", entry)
    assert open_trust(notebook, instrument).compared == ()


def test_a_strange_instrument_is_refused(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        open_trust(notebook, 99)
