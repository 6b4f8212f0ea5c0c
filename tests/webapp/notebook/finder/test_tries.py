"""Suggestions are taken up with what was predicted, tried, kept, dismissed and put back."""

import pytest

from analysis.finder import Strategy
from tests.webapp.finder_fakes import E5, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import add_clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.notebook.finder.tries import (
    SuggestionNote,
    open_try,
    open_try_list,
    settle_try,
    take_up,
)
from webapp.notebook.finder.trying import log_try
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import DismissReason, Suggestion, TryState

TARGET = "F5-50c"
NOTE = SuggestionNote(TARGET, RAISED_E5, "ordinary:E5:1", Strategy.RAISED)


@pytest.fixture
def instrument(notebook: Notebook, fake_finder: FakeFinder) -> int:
    """An instrument whose finder is the fake."""
    del fake_finder
    return add_clarinet(notebook)


def put_on_list(notebook: Notebook, instrument: int, note: SuggestionNote = NOTE) -> Suggestion:
    """Take a suggestion up and read its row."""
    return open_try(notebook, take_up(notebook, ResultCache(), instrument, note))


def test_a_suggestion_is_kept_with_its_prediction_and_its_base(
    notebook: Notebook, instrument: int
) -> None:
    row = put_on_list(notebook, instrument)
    assert (row.target_text, row.keys_text, row.strategy) == (TARGET, RAISED_E5, "raised")
    assert (row.predicted_offset_cents, row.predicted_sigma_cents) == (-7.0, 12.0)
    assert row.method_version.startswith("finder-")
    assert (row.base_reference, row.base_written_text) == ("ordinary:E5:1", "E5")
    assert row.base_keys_text == E5
    assert row.state == TryState.WAITING
    assert open_try_list(notebook, instrument).waiting[0].id == row.id


def test_the_same_suggestion_waits_once_with_its_first_prediction(
    notebook: Notebook, instrument: int
) -> None:
    first = put_on_list(notebook, instrument)
    assert put_on_list(notebook, instrument).id == first.id
    again = take_up(
        notebook,
        ResultCache(),
        instrument,
        NOTE,
        state=TryState.DISMISSED,
        reason=DismissReason.COLOUR,
    )
    assert again == first.id
    tries = open_try_list(notebook, instrument)
    assert (len(tries.waiting), len(tries.dismissed)) == (0, 1)
    assert tries.dismissed[0].reason_words == "wrong colour"


def test_a_typed_spelling_stays_and_the_note_is_the_same(
    notebook: Notebook, instrument: int
) -> None:
    spelled = SuggestionNote("F5-30c~-50", RAISED_E5, "ordinary:E5:1", Strategy.RAISED)
    plain = SuggestionNote("F5-30c", RAISED_E5, "ordinary:E5:1", Strategy.RAISED)
    row = put_on_list(notebook, instrument, spelled)
    assert row.written.kept_text == "F5-30c~-50"
    assert put_on_list(notebook, instrument, plain).id == row.id
    logged = open_fingering(notebook, log_try(notebook, row.id)).fingering
    assert (logged.target_text, logged.written.kept_text) == ("F5-30c", "F5-30c~-50")


@pytest.mark.parametrize(
    "note",
    [
        SuggestionNote("nonsense", RAISED_E5, "", Strategy.RAISED),
        SuggestionNote(TARGET, "no keys at all", "", Strategy.RAISED),
        SuggestionNote(TARGET, RAISED_E5, "ordinary:none", Strategy.RAISED),
        SuggestionNote(TARGET, RAISED_E5, "logged:99", Strategy.RAISED),
    ],
)
def test_what_is_no_suggestion_is_refused_and_nothing_is_kept(
    notebook: Notebook, instrument: int, note: SuggestionNote
) -> None:
    with pytest.raises(FieldRefused):
        take_up(notebook, ResultCache(), instrument, note)
    assert open_try_list(notebook, instrument).waiting == ()


def test_without_a_model_nothing_is_kept(
    notebook: Notebook, instrument: int, fake_finder: FakeFinder
) -> None:
    fake_finder.is_unavailable = True
    with pytest.raises(Refused, match="not ready"):
        take_up(notebook, ResultCache(), instrument, NOTE)
    assert open_try_list(notebook, instrument).waiting == ()


def test_logging_what_was_suggested_makes_it_a_try(notebook: Notebook, instrument: int) -> None:
    row = put_on_list(notebook, instrument)
    entry = log(notebook, instrument, TARGET, RAISED_E5, suggestion_id=row.id)
    tried = open_try(notebook, row.id)
    assert (tried.state, tried.fingering_id) == (TryState.TRIED, entry)
    assert open_try_list(notebook, instrument).tried[0].fingering is not None


@pytest.mark.parametrize(("target", "keys"), [("G5", RAISED_E5), (TARGET, E5)])
def test_another_note_or_other_keys_are_not_what_was_suggested(
    notebook: Notebook, instrument: int, target: str, keys: str
) -> None:
    row = put_on_list(notebook, instrument)
    log(notebook, instrument, target, keys, suggestion_id=row.id)
    assert open_try(notebook, row.id).state == TryState.WAITING


@pytest.mark.parametrize("number", [99, 2**70])
def test_a_suggestion_that_is_not_there_hinders_no_logging(
    notebook: Notebook, instrument: int, number: int
) -> None:
    assert log(notebook, instrument, TARGET, RAISED_E5, suggestion_id=number)


def test_a_suggestion_of_another_instrument_is_not_linked(
    notebook: Notebook, instrument: int
) -> None:
    row = put_on_list(notebook, instrument)
    log(notebook, add_clarinet(notebook, "Other"), TARGET, RAISED_E5, suggestion_id=row.id)
    assert open_try(notebook, row.id).state == TryState.WAITING


def test_a_try_is_kept_dismissed_and_put_back(notebook: Notebook, instrument: int) -> None:
    row = put_on_list(notebook, instrument)
    with pytest.raises(Refused, match="Try it first"):
        settle_try(notebook, row.id, TryState.KEPT)
    log(notebook, instrument, TARGET, RAISED_E5, suggestion_id=row.id)
    assert settle_try(notebook, row.id, TryState.KEPT).state == TryState.KEPT
    dismissed = settle_try(
        notebook, row.id, TryState.DISMISSED, reason=DismissReason.OTHER, reason_notes=" no \n"
    )
    assert (dismissed.reason, dismissed.reason_notes) == ("other", "no")
    back = settle_try(notebook, row.id, TryState.WAITING)
    assert (back.state, back.reason) == (TryState.TRIED, None)  # it was logged, and stays so


def test_a_fingering_removed_for_good_leaves_the_try(notebook: Notebook, instrument: int) -> None:
    row = put_on_list(notebook, instrument)
    entry = log(notebook, instrument, TARGET, RAISED_E5, suggestion_id=row.id)
    put_in_bin(notebook, "fingering", entry)
    assert open_try_list(notebook, instrument).tried[0].id == row.id


def test_the_number_of_queries_does_not_grow_with_the_tries(
    notebook: Notebook, instrument: int
) -> None:
    counts = []
    for target in ("F5-50c", "G5-50c", "A5-50c", "B5-50c"):
        note = SuggestionNote(target, RAISED_E5, "ordinary:E5:1", Strategy.RAISED)
        row = put_on_list(notebook, instrument, note)
        log(notebook, instrument, target, RAISED_E5, suggestion_id=row.id)
        with counted_queries(notebook) as statements:
            open_try_list(notebook, instrument)
        counts.append(len(statements))
    assert len(set(counts)) == 1


def test_what_is_not_there_is_said(notebook: Notebook, instrument: int) -> None:
    row = put_on_list(notebook, instrument)
    for number in (99, 2**70):
        with pytest.raises(NotInNotebook, match="no try number"):
            open_try(notebook, number)
    with pytest.raises(NotInNotebook):
        open_try_list(notebook, 99)
    put_in_bin(notebook, "instrument", instrument)
    with pytest.raises(NotInNotebook, match="in the bin"):
        open_try(notebook, row.id)
