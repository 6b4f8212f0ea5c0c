"""Opening an entry: everything in one transaction, in a number of queries that does not grow."""

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled, TakeMaker, log
from tests.webapp.snapshots import counted_queries, counted_transactions
from webapp.notebook.entry.opening import open_entry
from webapp.notebook.practice.practice import PracticeDraft, end_practice, start_practice
from webapp.notebook.practice.tuning_notes import choose_tuning_take
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook

KEYS = "T R 123 | 12-"


def test_an_entry_holds_all_that_its_page_shows(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    practice_id = start_practice(notebook, rows.soprano, PracticeDraft(442.0))
    entry = open_entry(notebook, rows.base)
    assert entry.page.fingering.id == rows.base
    assert {take.id for take in entry.page.takes} == {rows.take, rows.noise_take}
    assert entry.practice is not None and entry.practice.id == practice_id
    # Written C sharp 5 sounds B4 on a B-flat soprano, two semitones above the tuning A of the day.
    assert entry.tones.hz == pytest.approx(442 * 2 ** (225 / 1200))
    assert [each.take.id for each in entry.playback] == [rows.take]
    assert entry.base_reference == "ordinary:C#5:1"
    assert entry.suggestion is None
    assert open_entry(notebook, rows.child).base_reference == f"logged:{rows.base}"


def test_an_entry_is_read_in_one_transaction(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    with counted_transactions(notebook) as begun:
        open_entry(notebook, rows.base)
    assert len(begun) == 1


def test_the_page_of_an_entry_reads_nothing_beside_it(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    for path in (f"/fingerings/{rows.base}", f"/fingerings/{rows.child}?mirrored=1"):
        with counted_transactions(notebook) as begun:
            assert filled_client.get(path).status == 200
        assert len(begun) == 2, f"{path}: the page is one read, its head the other"


def test_an_entry_with_many_takes_needs_no_more_queries(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", KEYS, base="ordinary:D5:1")
    other = log(notebook, clarinet, "D5 -50", "T R 123 | 1--")

    def practise(count: int) -> None:
        practice_id = start_practice(notebook, clarinet, PracticeDraft())
        takes = [take_maker(notebook, fingering, 508.0) for _ in range(count)]
        take_maker(notebook, other, 509.0)
        choose_tuning_take(notebook, practice_id, takes[0])
        end_practice(notebook, practice_id)

    practise(1)
    with counted_queries(notebook) as few:
        open_entry(notebook, fingering)
    for count in (3, 6, 2):
        practise(count)
    with counted_queries(notebook) as many:
        entry = open_entry(notebook, fingering)
    assert len(entry.page.takes) == 12
    assert len(entry.days.by_take) == 12
    assert len(many) == len(few)


def test_the_note_names_of_the_player_come_with_it(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    wanted = Writing(tolerance_cents=7.0)
    change_preferences(notebook, wanted)
    assert open_entry(notebook, rows.base).writing == wanted


def test_what_is_not_there_or_in_the_bin_is_not_opened(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    for number in (9999, rows.binned_fingering):
        with pytest.raises(NotInNotebook):
            open_entry(notebook, number)
