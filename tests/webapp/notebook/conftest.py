"""An instrument for the tests of services."""

import pytest

from tests.webapp.logging_rows import add_clarinet
from webapp.notebook.store.notebook import Notebook


@pytest.fixture
def soprano(notebook: Notebook) -> int:
    """A B-flat soprano at A = 440."""
    return add_clarinet(notebook)
