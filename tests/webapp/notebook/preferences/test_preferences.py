"""How the player wants things written."""

import pytest

from analysis.pitch import SIGN_SYSTEMS, NoteNames, SystemId
from tests.webapp.snapshots import snapshot
from webapp.notebook.preferences.preferences import Writing, change_preferences, read_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook


def test_who_changed_nothing_has_the_usual_ones_and_nothing_is_stored(notebook: Notebook) -> None:
    before = snapshot(notebook)
    assert read_preferences(notebook) == Writing()
    assert snapshot(notebook) == before


def test_preferences_are_kept_and_changed_again(notebook: Notebook) -> None:
    wanted = Writing(NoteNames.GERMAN, SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH], 5.0, "dark")
    change_preferences(notebook, wanted)
    assert read_preferences(notebook) == wanted
    change_preferences(notebook, Writing())
    assert read_preferences(notebook) == Writing()


@pytest.mark.parametrize("tolerance_cents", [0.0, 0.9, 50.1, -1.0])
def test_a_tolerance_out_of_range_is_refused(notebook: Notebook, tolerance_cents: float) -> None:
    with pytest.raises(FieldRefused, match="from 1 to 50") as caught:
        change_preferences(notebook, Writing(tolerance_cents=tolerance_cents))
    assert caught.value.field == "tolerance_cents"
    assert read_preferences(notebook) == Writing()
