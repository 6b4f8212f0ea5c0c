"""Migration 0022 (trills among the notes of a long recording): new columns, and nothing else."""

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import all_as_then, execute, file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

NEW = {"low_hz": None, "high_hz": None, "rate_hz": None, "is_unsorted": 0}


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    execute(
        file,
        "INSERT INTO segment (recording_id, position, from_s, to_s, steady_from_s, steady_to_s, "
        "verdict, is_discarded, problem, low_hz, high_hz, rate_hz, is_unsorted) "
        f"VALUES ({rows.recording}, 99, 0.1, 1.9, 0.2, 1.8, 'trill', 0, '', 440.0, 466.2, 6.2, 1)",
    )
    full = tables_of(file)
    go_back(notebook, "0019")
    older = tables_of(file)
    assert [row | NEW for row in older["segment"]] == [row | NEW for row in full["segment"]]
    assert older == all_as_then(full, older)
    assert not NEW.keys() & older["segment"][0].keys()
    migrate(notebook.database.engine)
    newer = tables_of(file)
    assert newer.pop("segment") == [row | NEW for row in full.pop("segment")]
    assert newer == full
