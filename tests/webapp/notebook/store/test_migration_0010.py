"""Migration 0010 (systems of signs): the earlier choices go on, a later one becomes the nearest."""

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import all_as_then, execute, file_of, go_back, tables_of
from webapp.notebook.preferences.preferences import read_preferences
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

BEFORE = "0009"
ROW = (
    "INSERT OR REPLACE INTO preferences "
    "(id, note_names, accidental_style, tolerance_cents, theme, version) "
    "VALUES (1, 'english', '{}', 10.0, 'system', 3)"
)


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    execute(file, ROW.format("arrows"))
    execute(file, "DELETE FROM upkeep WHERE name = 'spelling'")  # going back asks for it again
    full = tables_of(file)
    go_back(notebook, BEFORE)
    old = tables_of(file)
    assert all("target_sign" not in row for row in old["fingering"])
    assert old == all_as_then(full, old)
    migrate(notebook.database.engine)
    forgotten = [{**row, "target_sign": None} for row in full["fingering"]]
    again = tables_of(file)
    expected = {**full, "fingering": forgotten}
    assert {name: again[name] for name in old} == {name: expected[name] for name in old}
    assert read_preferences(notebook).accidentals.text == "arrows"


@pytest.mark.parametrize(
    ("later", "earlier"),
    [
        ("arrows-own arrow=43/2", "arrows"),
        ("arrows-quarter", "arrows"),
        ("stein-zimmermann stroked=-50", "stein-zimmermann"),
        ("helmholtz-ellis", "stein-zimmermann"),
    ],
)
def test_a_system_that_was_not_there_becomes_the_nearest(
    filled: tuple[Notebook, Filled], later: str, earlier: str
) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    execute(file, ROW.format(later))
    go_back(notebook, BEFORE)
    (row,) = tables_of(file)["preferences"]
    assert row["accidental_style"] == earlier
