"""Rules for every test: no network but this machine, no environment of the player's own.

Also which tests run: those with the mark `long_run` only with `--all`, the slowest files first.
"""

from __future__ import annotations

import gc
import json
import os
import shutil
import socket
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from filelock import FileLock
from hypothesis import settings

from tests.long_files import LONG_FILES
from tests.steady_examples import leave_out_local_constants
from tests.tools import CHROMIUM_FLAGS, find_chromium

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Playwright

    from tests.postgres import Cluster
    from tests.webapp.logging_rows import Filled

    Launch = Callable[..., Browser]

ASKING = "--deny-permission-prompts"  # what asks for the microphone is the whole browser
Address = tuple[str, int] | str | bytes  # as the socket module takes it
LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})

MEETING_PLACE = "TESTS_MEETING_PLACE"
DAILY_EXAMPLES, ALL_EXAMPLES = 25, 100
# Python walks all objects whenever the young ones have grown by a quarter: with thousands of tests
# collected that was 25 of 112 s of processor in the tests of pages. Young ones are walked as ever.
RARE_WALKS = (700, 10, 400)
PATIENCE_MS = 30_000  # of a browser test: a busy machine is no fault of a page


def pytest_addoption(parser: pytest.Parser) -> None:
    """Offer the long run."""
    words = "run everything: the tests with the mark long_run, and all examples"
    parser.addoption("--all", action="store_true", default=False, help=words)


def pytest_configure(config: pytest.Config) -> None:
    """Property tests without a clock and without chance: the same examples on every machine."""
    count = ALL_EXAMPLES if config.getoption("--all") else DAILY_EXAMPLES
    settings.register_profile("steady", deadline=None, derandomize=True, max_examples=count)
    settings.load_profile("steady")
    leave_out_local_constants()
    gc.set_threshold(*RARE_WALKS)
    if MEETING_PLACE not in os.environ:  # the processes of this run inherit it
        os.environ[MEETING_PLACE] = tempfile.mkdtemp(prefix="quartervent-")
        config.add_cleanup(_leave_meeting_place)


def _leave_meeting_place() -> None:
    """Stop what the processes of this run shared, now that all of them are done."""
    folder = Path(os.environ.pop(MEETING_PLACE))
    if any(folder.iterdir()):
        from tests.postgres import stop_shared

        stop_shared(folder)
    shutil.rmtree(folder, ignore_errors=True)


def pytest_collection_finish() -> None:
    """Leave what was collected out of all later walks of the garbage collector: it stays."""
    gc.freeze()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the long run out unless it is asked for; the slowest files go first."""
    if not config.getoption("--all"):
        left_out: list[pytest.Item] = []
        daily: list[pytest.Item] = []
        for item in items:
            (left_out if item.get_closest_marker("long_run") else daily).append(item)
        config.hook.pytest_deselected(items=left_out)
        items[:] = daily
    folder = Path(__file__).parent
    ranks = {folder / name: rank for rank, name in enumerate(LONG_FILES)}
    items.sort(key=lambda item: ranks.get(item.path, len(ranks)))  # stable: the rest keeps order


class NetworkUsed(AssertionError):
    """A test tried to reach another machine."""


def _refuse_others(address: object) -> None:
    is_local = not isinstance(address, tuple) or address[0] in LOOPBACK
    if not is_local:
        raise NetworkUsed(f"A test tried to reach {address!r}; only this machine is allowed.")


@pytest.fixture(autouse=True)
def no_network(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Refuse every connection to another machine."""
    connect, connect_ex, lookup = (
        socket.socket.connect,
        socket.socket.connect_ex,
        socket.getaddrinfo,
    )

    def guarded_connect(self: socket.socket, address: Address) -> None:
        _refuse_others(address)
        connect(self, address)

    def guarded_connect_ex(self: socket.socket, address: Address) -> int:
        _refuse_others(address)
        return connect_ex(self, address)

    def guarded_lookup(host: str | None, port: int | str | None, *rest: int, **more: int) -> object:
        if host is not None:
            _refuse_others((host,))
        return lookup(host, port, *rest, **more)

    monkeypatch.setattr(socket.socket, "connect", guarded_connect)
    monkeypatch.setattr(socket.socket, "connect_ex", guarded_connect_ex)
    monkeypatch.setattr(socket, "getaddrinfo", guarded_lookup)
    yield


@pytest.fixture(scope="session")
def run_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that all processes of this run share: it lies above those of their own."""
    folder = tmp_path_factory.getbasetemp()
    return folder.parent if "PYTEST_XDIST_WORKER" in os.environ else folder


@pytest.fixture(scope="session", autouse=True)
def tubes(run_folder: Path) -> Iterator[None]:
    """Compute each tube once in a run."""
    from tests.computed_once import compute_once

    patch = compute_once(run_folder / "tubes")
    yield
    patch.undo()


@pytest.fixture(scope="session")
def postgres() -> Cluster:
    """The PostgreSQL of this run, started by the first test that needs it."""
    from tests.postgres import share_cluster

    return share_cluster(Path(os.environ[MEETING_PLACE]))


@pytest.fixture(autouse=True)
def no_own_notebook(
    monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Keep every test away from the player's notebook."""
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(tmp_path_factory.getbasetemp() / "unnamed"))
    monkeypatch.delenv("QUARTERVENT_DATABASE", raising=False)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """The one Playwright of this process, which allows no second one."""
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def launch(playwright: Playwright) -> Iterator[Launch]:
    """Start a chromium with flags of its own; the same flags give the one that runs already."""
    running: dict[tuple[str, ...], Browser] = {}

    def start(*flags: str) -> Browser:
        if flags not in running:
            running[flags] = playwright.chromium.launch(
                executable_path=find_chromium(is_whole=ASKING in flags),
                args=[*CHROMIUM_FLAGS, *flags],
            )
        return running[flags]

    yield start
    for each in running.values():
        each.close()


@pytest.fixture(scope="session")
def browser(launch: Launch) -> Browser:
    """The chromium without flags of its own."""
    return launch()


@pytest.fixture(scope="session")
def filled_folder(run_folder: Path) -> tuple[Path, Filled]:
    """A notebook with a bit of everything, really measured takes included, to be copied.

    The first process of the run that needs it fills it.
    """
    from tests.webapp.logging_rows import Filled, fill
    from webapp.notebook.opening import open_notebook

    folder, numbers = run_folder / "filled" / "notebook", run_folder / "filled" / "rows.json"
    with FileLock(run_folder / "filling"):
        if not numbers.is_file():
            with closing(open_notebook(folder)) as notebook:
                rows = fill(notebook)
            numbers.write_text(json.dumps(asdict(rows)), "utf-8")
    return folder, Filled(**json.loads(numbers.read_text("utf-8")))


@pytest.fixture(scope="session")
def pieces_folder(filled_folder: tuple[Path, Filled], run_folder: Path) -> Path:
    """The filled notebook with two pieces, to be copied; made as `filled_folder` is."""
    from tests.webapp.notebook.pieces.filling import fill_pieces
    from webapp.notebook.opening import open_notebook

    source, rows = filled_folder
    folder, is_made = run_folder / "pieces" / "notebook", run_folder / "pieces" / "made"
    with FileLock(run_folder / "adding-pieces"):
        if not is_made.is_file():
            shutil.copytree(source, folder)
            with closing(open_notebook(folder)) as notebook:
                fill_pieces(notebook, rows)
            is_made.touch()
    return folder
