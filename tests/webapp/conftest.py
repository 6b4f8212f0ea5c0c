"""A fresh notebook for every test, its application, and a browser for it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from flask import Flask

from tests.compiled_once import compile_once
from tests.measured_once import measure_once
from tests.webapp.both_engines import ENGINES, IN_THE_LONG_RUN, ON_BOTH
from tests.webapp.browsing import Browser
from tests.webapp.finder_fakes import FakeFinder, put_in_place
from tests.webapp.logging_rows import Filled, TakeMaker, add_clarinet, log
from tests.webapp.shared_access import Shared
from webapp.app import create_app
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.store.addresses import DATABASE_VARIABLE
from webapp.notebook.store.notebook import DATABASE_FILE, Notebook

if TYPE_CHECKING:
    from tests.postgres import Cluster

Opener = Callable[[Path], Notebook]


@pytest.fixture(scope="session", autouse=True)
def done_once() -> None:
    """Let the tests of this process share what costs time and is the same for all."""
    compile_once()


@pytest.fixture(scope="package", autouse=True)
def measured_once() -> Iterator[None]:
    """Let these tests decode and measure equal clips once; those of the browser do it for real."""
    patch = measure_once()
    yield
    patch.undo()


@pytest.fixture(scope="session")
def empty_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated notebook without rows, to be copied."""
    folder = tmp_path_factory.mktemp("empty") / "notebook"
    open_notebook(folder).close()
    return folder


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run the chosen tests of data on both engines."""
    path = metafunc.definition.path
    if "engine_kind" not in metafunc.fixturenames:
        return
    if any(path.match(each) for each in ON_BOTH):
        metafunc.parametrize("engine_kind", ENGINES, indirect=True)
    elif any(path.match(each) for each in IN_THE_LONG_RUN):
        file, server = ENGINES
        long = pytest.param(server, marks=pytest.mark.long_run)
        metafunc.parametrize("engine_kind", (file, long), indirect=True)


def pytest_itemcollected(item: pytest.Item) -> None:
    """Of a test with several examples, only the first runs on PostgreSQL every day."""
    facts = getattr(item, "callspec", None)
    if facts is None or facts.params.get("engine_kind") != ENGINES[-1]:
        return
    is_first = not any(index for name, index in facts.indices.items() if name != "engine_kind")
    if not is_first and any(item.path.match(each) for each in ON_BOTH):
        item.add_marker(pytest.mark.long_run)


@pytest.fixture
def engine_kind(request: pytest.FixtureRequest) -> str:
    """The engine that the notebooks of a test are kept by."""
    return str(getattr(request, "param", "sqlite"))


@pytest.fixture
def move_to_server(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[Path], None]]:
    """Move the rows of a closed notebook to a database of their own on PostgreSQL."""
    from tests.postgres import copy_rows

    cluster: Cluster = request.getfixturevalue("postgres")
    addresses = []

    def move(folder: Path) -> None:
        addresses.append(cluster.lend_database())
        copy_rows(folder / DATABASE_FILE, addresses[-1])
        (folder / DATABASE_FILE).unlink()
        monkeypatch.setenv(DATABASE_VARIABLE, addresses[-1])

    yield move
    for each in addresses:
        cluster.take_back(each)


@pytest.fixture
def opened(tmp_path: Path, engine_kind: str, request: pytest.FixtureRequest) -> Iterator[Opener]:
    """Open copies of a notebook; all are closed at the end of the test."""
    notebooks: list[Notebook] = []
    is_file = engine_kind == "sqlite"
    move = None if is_file else request.getfixturevalue("move_to_server")

    def open_copy(source: Path) -> Notebook:
        folder = tmp_path / f"notebook-{len(notebooks) + 1}"
        shutil.copytree(source, folder)
        if move is not None:
            move(folder)
        notebooks.append(open_notebook(folder))
        return notebooks[-1]

    yield open_copy
    for notebook in notebooks:
        notebook.close()


@pytest.fixture
def notebook(opened: Opener, empty_folder: Path) -> Notebook:
    """A fresh empty notebook."""
    return opened(empty_folder)


@pytest.fixture
def clarinet(notebook: Notebook) -> int:
    """A B-flat soprano at A = 440 in the empty notebook."""
    return add_clarinet(notebook)


@pytest.fixture
def fingering(notebook: Notebook, clarinet: int) -> int:
    """A fingering of the clarinet for D5 -50, without a take."""
    return log(notebook, clarinet, "D5 -50", "T R 123 | 12-")


@pytest.fixture
def practice(notebook: Notebook, clarinet: int) -> int:
    """An open practice of the clarinet."""
    return start_practice(notebook, clarinet, PracticeDraft())


@pytest.fixture
def filled(opened: Opener, filled_folder: tuple[Path, Filled]) -> tuple[Notebook, Filled]:
    """A fresh copy of the filled notebook, with the numbers of its rows."""
    folder, rows = filled_folder
    return opened(folder), rows


@pytest.fixture
def with_pieces(
    opened: Opener, filled_folder: tuple[Path, Filled], pieces_folder: Path
) -> tuple[Notebook, Filled]:
    """A fresh copy of the filled notebook with its pieces: number 1 has rows in every table."""
    return opened(pieces_folder), filled_folder[1]


@pytest.fixture
def app(notebook: Notebook) -> Flask:
    """The application of the empty notebook, all its guards on."""
    return create_app(notebook)


@pytest.fixture
def client(app: Flask) -> Browser:
    """A browser on the empty notebook."""
    return Browser(app)


@pytest.fixture
def filled_client(filled: tuple[Notebook, Filled]) -> Browser:
    """A browser on the filled notebook."""
    return Browser(create_app(filled[0]))


@pytest.fixture
def shared(filled: tuple[Notebook, Filled]) -> Shared:
    """The filled notebook shared with other devices."""
    return Shared(filled[0])


@pytest.fixture
def fake_finder(monkeypatch: pytest.MonkeyPatch) -> FakeFinder:
    """A finder whose answers the test states."""
    return put_in_place(monkeypatch)


@pytest.fixture
def take_maker(monkeypatch: pytest.MonkeyPatch) -> TakeMaker:
    """Attach takes whose measurement the test states, without sound."""
    return TakeMaker(monkeypatch)
