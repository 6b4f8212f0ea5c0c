"""Where a notebook lies, and how it is made."""

import os
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from tests.webapp.logging_rows import add_clarinet
from tests.webapp.snapshots import files_of
from webapp.notebook.instruments.instruments import choose_instruments
from webapp.notebook.opening import open_notebook
from webapp.notebook.store import own_folder
from webapp.notebook.store.notebook import peek_notebook
from webapp.notebook.store.own_folder import default_folder


def test_the_variable_names_the_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(tmp_path / "mine"))
    assert default_folder() == tmp_path / "mine"


def test_a_home_sign_in_the_variable_is_understood(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("QUARTERVENT_INSTANCE", "~/clarinet")
    assert default_folder() == tmp_path / "clarinet"


@pytest.mark.parametrize("value", [None, ""])
def test_a_checkout_keeps_its_notebook_in_instance(
    monkeypatch: pytest.MonkeyPatch, value: str | None
) -> None:
    if value is None:
        monkeypatch.delenv("QUARTERVENT_INSTANCE")
    else:
        monkeypatch.setenv("QUARTERVENT_INSTANCE", value)
    assert default_folder().name == "instance"
    assert (default_folder().parent / "pyproject.toml").is_file()


def test_an_installed_app_keeps_it_with_the_users_data(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("QUARTERVENT_INSTANCE")
    monkeypatch.setattr(own_folder, "_ROOT", tmp_path)
    assert default_folder().name == "quartervent"
    assert tmp_path not in default_folder().parents


def test_opening_makes_what_is_missing_and_again_changes_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "notebook"
    open_notebook(folder).close()
    names = sorted(str(each.relative_to(folder)) for each in folder.rglob("*"))
    assert names == ["clips", "clips/staging", "notebook.sqlite3"]
    before = (folder / "notebook.sqlite3").read_bytes()
    open_notebook(folder).close()
    assert (folder / "notebook.sqlite3").read_bytes() == before


def test_a_demo_never_opens_the_database_of_the_variable(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("QUARTERVENT_DATABASE", f"sqlite:///{tmp_path}/own.sqlite3")
    open_notebook(tmp_path / "demo", is_demo=True).close()
    assert not (tmp_path / "own.sqlite3").exists()
    open_notebook(tmp_path / "named").close()
    assert (tmp_path / "own.sqlite3").exists()


def test_the_folder_may_have_any_name(tmp_path: Path) -> None:
    folder = tmp_path / f"mine 100% #1 é{'' if os.name == 'nt' else '?'}"
    with closing(open_notebook(folder)) as notebook:
        add_clarinet(notebook, "B-flat")
    assert (folder / "notebook.sqlite3").is_file()
    assert [path.name for path in tmp_path.iterdir()] == [folder.name]
    with closing(open_notebook(folder)) as notebook:
        assert [each.name for each in choose_instruments(notebook)] == ["B-flat"]


def test_looking_at_a_notebook_changes_nothing_and_cannot(tmp_path: Path) -> None:
    assert peek_notebook(tmp_path / "none") is None
    folder = tmp_path / "mine"
    with closing(open_notebook(folder)) as notebook:
        add_clarinet(notebook, "B-flat")
    before = files_of(tmp_path)
    peeked = peek_notebook(folder)
    assert peeked is not None
    with closing(peeked):
        assert [each.name for each in choose_instruments(peeked)] == ["B-flat"]
        with pytest.raises(OperationalError, match="readonly"):
            add_clarinet(peeked, "another")
    assert files_of(tmp_path) == before
