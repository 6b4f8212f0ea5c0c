"""Two fingerings beside each other."""

import pytest

from tests.webapp.logging_rows import Filled
from webapp.notebook.fingerings.comparing import compare
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook


def test_logged_and_ordinary_ones_are_compared(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    found = compare(notebook, f"logged:{rows.base}", "ordinary:C#5:2")
    assert found is not None and found.first is not None and found.second is not None
    assert found.instrument.id == rows.soprano
    assert found.first.fingering is not None and found.first.fingering.id == rows.base
    assert found.second.fingering is None
    assert found.has_same_holes, "the base is written with the second choice for C sharp"
    other = compare(notebook, "ordinary:C#5:1", f"logged:{rows.child}")
    assert other is not None and not other.has_same_holes


def test_a_side_may_be_open(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    found = compare(notebook, "", "", instrument_id=rows.bass)
    assert found is not None
    assert (found.first, found.second, found.has_same_holes) == (None, None, False)
    assert compare(notebook, "", "ordinary:C#5:1") is None, "on which instrument?"


def test_what_is_not_there_is_refused(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    with pytest.raises(FieldRefused):
        compare(notebook, f"logged:{rows.base}", "ordinary:none")
    with pytest.raises(FieldRefused):
        compare(notebook, f"logged:{rows.base}", f"logged:{rows.on_bass}")
    for reference in ("logged:9999", f"logged:{rows.binned_fingering}"):
        with pytest.raises(NotInNotebook):
            compare(notebook, reference, "")
    with pytest.raises(NotInNotebook):
        compare(notebook, f"logged:{rows.base}", f"logged:{rows.binned_fingering}")
    with pytest.raises(NotInNotebook):
        compare(notebook, "", "", instrument_id=9999)
