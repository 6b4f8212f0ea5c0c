"""An instrument for the tests of services, and notebooks of earlier forms."""

import shutil
from contextlib import closing
from pathlib import Path

import pytest
from filelock import FileLock

from tests.compiled_once import load_migrations_once
from tests.webapp.logging_rows import Filled, add_clarinet
from tests.webapp.older_forms import keep_forms
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.notebook import Notebook


@pytest.fixture(scope="session", autouse=True)
def migrations_once() -> None:
    """Many of these tests upgrade a notebook, step by step."""
    load_migrations_once()


@pytest.fixture
def soprano(notebook: Notebook) -> int:
    """A B-flat soprano at A = 440."""
    return add_clarinet(notebook)


@pytest.fixture(scope="session")
def filled_forms(run_folder: Path, filled_folder: tuple[Path, Filled]) -> Path:
    """The database of the filled notebook in every earlier form, made once in a run."""
    forms, draft = run_folder / "forms", run_folder / "forms-to-be"
    with FileLock(run_folder / "going-back"):
        if not forms.is_dir():
            shutil.copytree(filled_folder[0], draft / "notebook")
            with closing(open_notebook(draft / "notebook")) as notebook:
                keep_forms(notebook, draft)
            draft.rename(forms)
    return forms
