"""Served notebooks; visitors whose faults fail the test."""

import shutil
from collections.abc import Callable, Hashable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Browser, Page

from analysis.recording.spectrogram import View, find_levels
from tests.browser.live_readings import PLACE, TARGET_HZ
from tests.browser.microphones import playing, write_notes
from tests.browser.recording_takes import PLAYED_HZ
from tests.browser.serving import Address, Site, serve_folder
from tests.browser.visiting import PHONE, Profiles, Visitor
from tests.compiled_once import compile_once
from tests.measured_once import measure_once
from tests.webapp.logging_rows import Filled

Visit = Callable[..., Visitor]
Launch = Callable[..., Browser]


@pytest.fixture(scope="session", autouse=True)
def done_once() -> None:
    """Let the tests of this process share what costs time and is the same for all."""
    compile_once()
    measure_once()


@pytest.fixture(scope="session")
def pictures_compiled() -> None:
    """What draws levels is compiled before a page waits for it, since that may take long."""
    samples = np.zeros(8_000)
    find_levels(samples, 8_000, View(0.2, 0.8, 220.0, 880.0))


@pytest.fixture(scope="session")
def rows(filled_folder: tuple[Path, Filled]) -> Filled:
    """The numbers of the rows in every filled notebook."""
    return filled_folder[1]


@pytest.fixture(scope="session")
def looked_at(
    pieces_folder: Path,
    pictures_compiled: None,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Site]:
    """A copy of the filled notebook with pieces, for tests that keep nothing but the way there."""
    del pictures_compiled
    folder = tmp_path_factory.mktemp("browser") / "looked-at"
    shutil.copytree(pieces_folder, folder)
    with serve_folder(folder) as site:
        yield site


@pytest.fixture(scope="session")
def empty_looked_at(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """An empty notebook, for tests that keep nothing."""
    with serve_folder(tmp_path_factory.mktemp("browser") / "empty") as site:
        yield site


@pytest.fixture(scope="session")
def profiles(launch: Launch) -> Profiles:
    """The browser profiles of this process; they end with their browsers."""
    del launch
    return Profiles()


@pytest.fixture
def closed_last() -> Iterator[ExitStack]:
    """What outlives the visits of a test: a notebook is served until its pages are closed."""
    with ExitStack() as stack:
        yield stack


@pytest.fixture(scope="session")
def address() -> Address:
    """One address for all notebooks of this process that are written in, one after the other."""
    return Address()


@pytest.fixture
def written_in(
    filled_folder: tuple[Path, Filled],
    pictures_compiled: None,
    tmp_path: Path,
    closed_last: ExitStack,
    address: Address,
) -> Site:
    """A fresh copy of the filled notebook, for tests that keep something."""
    del pictures_compiled
    shutil.copytree(filled_folder[0], tmp_path / "notebook")
    return closed_last.enter_context(address.serve(tmp_path / "notebook"))


@pytest.fixture
def started_empty(tmp_path: Path, closed_last: ExitStack, address: Address) -> Site:
    """A fresh empty notebook, for tests that keep something."""
    return closed_last.enter_context(address.serve(tmp_path / "notebook"))


@pytest.fixture
def visit(browser: Browser, profiles: Profiles, closed_last: ExitStack) -> Iterator[Visit]:
    """Visit a site with a browser profile as if fresh; at the end no page may have done wrong.

    `browser=launch(...)` visits with another chromium. What a test puts into a profile is taken out
    again after it; where that cannot be (a listener of a tab), it asks for `is_alone=True`.
    """
    del closed_last
    faults: list[str] = []
    with ExitStack() as open_contexts:

        def hand_back(kind: Hashable, visitor: Visitor) -> None:
            faults.extend(visitor.faults)
            profiles.hand_back(kind, visitor)

        def start(site: Site, *, browser: Browser = browser, **options: Any) -> Visitor:
            kind, visitor = profiles.take(browser, site, **options)
            open_contexts.callback(hand_back, kind, visitor)
            return visitor

        yield start
    assert faults == []


@pytest.fixture(scope="module")
def page(browser: Browser, profiles: Profiles, looked_at: Site) -> Iterator[Page]:
    """One page for a whole file of tests that import modules, which keep nothing between calls."""
    kind, visitor = profiles.take(browser, looked_at)
    yield visitor.open("/about")
    faults = list(visitor.faults)
    profiles.hand_back(kind, visitor)
    assert faults == []


@pytest.fixture(scope="module")
def live_visitor(browser: Browser, profiles: Profiles, looked_at: Site) -> Iterator[Visitor]:
    """One page for a whole file: a new display keeps nothing of the one before."""
    kind, visitor = profiles.take(browser, looked_at)
    visitor.open("/about")
    yield visitor
    profiles.hand_back(kind, visitor)


@pytest.fixture
def live_page(live_visitor: Visitor) -> Iterator[Page]:
    """A new live display, alone on its page, watching."""
    (page,) = live_visitor.context.pages
    if page.viewport_size != PHONE:
        page.set_viewport_size({"width": PHONE["width"], "height": PHONE["height"]})
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    page.evaluate(PLACE, [TARGET_HZ, 50])
    yield page
    assert live_visitor.faults == []


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, NDArray[np.float32]]:
    """Three notes for the fingering of `recording_takes`, as a file and as the samples in it."""
    path = tmp_path_factory.mktemp("microphone") / "notes.wav"
    return path, write_notes(path, PLAYED_HZ, after_s=1.0)


@pytest.fixture(scope="session")
def hearing(launch: Launch, played: tuple[Path, NDArray[np.float32]]) -> Browser:
    """A chromium whose microphone hears three notes each time it is opened."""
    return launch(*playing(played[0]))


@pytest.fixture
def folder(written_in: Site, tmp_path: Path) -> Path:
    """Where the notebook of `written_in` lies.

    A test that opens it names `written_in` first: the browser goes before the notebook does.
    """
    del written_in
    return tmp_path / "notebook"
