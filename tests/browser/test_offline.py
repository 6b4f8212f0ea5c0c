"""The notebook when its server is away: copies that say so, and a page of our own for the rest.

Truth: Service Workers and Cache API (W3C); what a player sees in a real browser.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from flask import Response
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site, serve_folder
from tests.browser.visiting import Visitor
from tests.webapp.logging_rows import Filled
from webapp.notebook.opening import open_notebook
from webapp.pages.web_app import read_static_files

pytestmark = pytest.mark.browser

GONE = "ERR_CONNECTION_REFUSED"
CONTROLLED = "() => navigator.serviceWorker.controller !== null"
# Everything that is kept, by kind of cache: [[cache, [path, ...]], ...]
KEPT = """async () => Object.fromEntries(await Promise.all((await caches.keys()).map(async (name) =>
    [name, (await (await caches.open(name)).keys()).map(({ url }) => url.replace(origin, ""))])))"""
STATIC = Path(__file__).resolve().parents[2] / "webapp" / "static"


class Machine:
    """A machine on which notebooks are started and stopped at one address."""

    def __init__(self) -> None:
        self._running = ExitStack()
        self.port = 0

    def start(self, folder: Path, *, is_demo: bool = False, static: Path | None = None) -> Site:
        """Serve a notebook at the address of the one before."""
        self.stop()
        serving = serve_folder(
            folder, port=self.port, is_demo=is_demo, static=static, keeps_files=False
        )
        site = self._running.enter_context(serving)
        self.port = int(site.origin.rpartition(":")[2])
        return site

    def stop(self) -> None:
        """Let the server go away."""
        self._running.close()


@pytest.fixture
def machine() -> Iterator[Machine]:
    started = Machine()
    yield started
    started.stop()


@pytest.fixture
def folder(filled_folder: tuple[Path, Filled], tmp_path: Path) -> Path:
    shutil.copytree(filled_folder[0], tmp_path / "notebook")
    return tmp_path / "notebook"


def kept(page: Page, kind: str) -> list[str]:
    """Return the paths of what is kept of one kind, the oldest first."""
    found: dict[str, list[str]] = page.evaluate(KEPT)
    return [path for name, paths in found.items() if f"-{kind}-" in name for path in paths]


def wait_for(page: Page, script: str, argument: object = None) -> None:
    """Ask a page until a promise holds (`wait_for_function` takes the promise itself for true)."""
    for _ in range(1000):
        if page.evaluate(script, argument):
            return
        page.wait_for_timeout(10)
    pytest.fail(f"never came true: {script}")


def wait_until_kept(page: Page, kind: str, path: str) -> None:
    wait_for(
        page,
        "async ([kind, path]) => { for (const name of await caches.keys()) {"
        " if (name.includes(`-${kind}-`) && await (await caches.open(name)).match(path))"
        " return true; } return false; }",
        [kind, path],
    )


def open_kept(visitor: Visitor, path: str) -> Page:
    """Open a page and wait until the worker has it."""
    page = visitor.open(path)
    page.wait_for_function(CONTROLLED)
    wait_until_kept(page, "pages", path)
    return page


def without_the_server(visitor: Visitor) -> None:
    """Forget what a browser reports of a server that is away; anything else stays a fault."""
    expected = (GONE, "status of 503", "ERR_FAILED", "ERR_EMPTY_RESPONSE", "ERR_CONNECTION_RESET")
    visitor.faults[:] = [
        fault for fault in visitor.faults if not any(each in fault for each in expected)
    ]


def test_what_was_open_is_read_as_a_copy_that_says_so_and_what_was_not_leads_there(
    visit: Visit, machine: Machine, folder: Path, rows: Filled
) -> None:
    visitor = visit(machine.start(folder), has_workers=True)
    # the first page is kept as well, though it came before the worker
    page = open_kept(visitor, f"/fingerings/{rows.base}")
    heading = page.locator("h1").inner_text()
    assert page.locator(".copy-note").count() == 0
    machine.stop()

    answer = page.reload()

    assert answer is not None
    assert answer.status == 200
    assert page.locator("h1").inner_text() == heading
    note = page.get_by_role("complementary", name="About this copy")
    expect(note).to_contain_text("This is a copy from")
    expect(note).to_contain_text("the notebook is not answering")
    assert str(page.evaluate("new Date().getFullYear()")) in note.inner_text()
    assert page.locator("body").evaluate("b => getComputedStyle(b).fontFamily").startswith("Note")

    machine.start(folder)
    with page.expect_navigation():
        page.get_by_role("button", name="Try again").tap()

    assert page.locator(".copy-note").count() == 0

    # what was never open leads to what can be read, drawings and clips included
    page.goto(visitor.site.origin + "/")
    wait_until_kept(page, "pages", "/")
    path = f"/takes/{rows.take}"
    page.goto(visitor.site.origin + path)
    wait_until_kept(page, "pages", path)
    title = page.title().removesuffix(" · Quartervent")
    play = """() => { const player = document.querySelector("audio"); player.load();
        return new Promise((done) => {
            player.oncanplaythrough = () => done(player.duration);
            player.onerror = () => done(null);
        }); }"""
    length_s = page.evaluate(play)
    wait_until_kept(page, "clips", f"{path}/clip")
    page.wait_for_function("[...document.images].every((each) => each.complete)")
    machine.stop()

    page.goto(visitor.site.origin + "/search?q=never+asked")

    assert page.locator("h1").inner_text() == "The notebook is not answering"
    expect(page.locator("[data-kept-pages] li")).to_have_count(3)
    page.locator("[data-kept-pages]").get_by_role("link", name=title).tap()
    page.wait_for_url(f"**{path}")
    expect(page.locator(".copy-note")).to_be_visible()
    assert page.evaluate(play) == length_s > 0
    page.wait_for_function("[...document.images].every((each) => each.complete)")
    assert all(page.evaluate("[...document.images].map((each) => each.naturalWidth)"))
    page.go_back()
    machine.start(folder)
    with page.expect_navigation():
        page.get_by_role("link", name="Try again").tap()
    assert page.locator("h1").inner_text() != "The notebook is not answering"
    without_the_server(visitor)


def test_only_the_newest_pages_drawings_and_clips_are_kept_and_none_that_is_still_computed(
    visit: Visit, machine: Machine, folder: Path, rows: Filled, monkeypatch: pytest.MonkeyPatch
) -> None:
    # An HTTP Refresh header means: come back for the rest.
    def wait_for_more(*_: object, **__: object) -> Response:
        page = "<!doctype html><html lang=en><title>Wait</title><h1>Being computed</h1></html>"
        return Response(page, headers={"Refresh": "60"}, mimetype="text/html")

    visitor = visit(machine.start(folder), has_workers=True)
    page = open_kept(visitor, "/preferences")
    with page.expect_navigation():  # an answer to a form, then the page again
        page.get_by_role("button", name="Save", exact=True).tap()
    for path in (
        f"/takes/{rows.take}/trace.csv",
        f"/instruments/{rows.soprano}/chart.pdf",
        f"/recordings/{rows.recording}/progress",
        "/nothing-there",
        f"/fingerings/{rows.base}/drawing.svg",
    ):
        page.evaluate("path => fetch(path).then((answer) => answer.text())", path)
    page.goto(visitor.site.origin + "/nothing-there")
    with monkeypatch.context() as patch:
        patch.setattr("webapp.pages.start.render_template", wait_for_more)
        page.goto(visitor.site.origin + "/about?still=computed")
        assert page.locator("h1").inner_text() == "Being computed"
    open_kept(visitor, "/about")
    found: dict[str, list[str]] = page.evaluate(KEPT)
    copies = {name: paths for name, paths in found.items() if "-files-" not in name}
    assert sorted(path for paths in copies.values() for path in paths) == [
        "/about", "/last-notebook", "/preferences",
    ]  # fmt: skip

    # of many pages the newest sixty
    page = open_kept(visitor, "/about?n=0")
    page.evaluate(
        """async () => { const { active } = await navigator.serviceWorker.ready;
        const isKept = async (path) => (await caches.match(path)) !== undefined;
        for (let n = 1; n < 64; n += 1) {
            active.postMessage({ keep: `/about?n=${n}` });
            while (!await isKept(`/about?n=${n}`)) await new Promise((done) => setTimeout(done, 5));
        } }"""
    )
    open_kept(visitor, "/about?n=0")
    wait_for(
        page,
        "async () => { for (const name of await caches.keys()) if (name.includes('-pages-'))"
        " return (await (await caches.open(name)).keys()).length === 60; }",
    )
    assert kept(page, "pages") == [f"/about?n={n}" for n in (*range(5, 64), 0)]


def test_no_notebook_shows_a_page_of_another_and_a_demo_leaves_none_behind(
    visit: Visit, machine: Machine, folder: Path, rows: Filled, tmp_path: Path
) -> None:
    open_notebook(tmp_path / "demo", is_demo=True).close()
    visitor = visit(machine.start(folder), has_workers=True)
    own = f"/fingerings/{rows.base}"
    page = open_kept(visitor, own)
    machine.start(tmp_path / "demo", is_demo=True)
    open_kept(visitor, "/about")
    machine.stop()

    page.goto(visitor.site.origin + own)
    assert page.locator("h1").inner_text() == "The notebook is not answering"
    page.goto(visitor.site.origin + "/about")
    assert page.locator(".demo-note").count() == 1

    machine.start(folder)
    page.goto(visitor.site.origin + "/preferences")
    wait_until_kept(page, "pages", "/preferences")
    machine.stop()
    page.goto(visitor.site.origin + "/about")
    assert page.locator("h1").inner_text() == "The notebook is not answering"
    assert not any("-demo-" in name for name in page.evaluate("caches.keys()"))
    page.goto(visitor.site.origin + own)
    expect(page.locator(".copy-note")).to_be_visible()

    # pages of two notebooks of one's own are kept apart as well
    open_notebook(tmp_path / "other").close()
    machine.start(tmp_path / "other")
    page.goto(visitor.site.origin + "/about")
    wait_until_kept(page, "pages", "/about")
    machine.stop()
    page.goto(visitor.site.origin + own)
    assert page.locator("h1").inner_text() == "The notebook is not answering"
    without_the_server(visitor)


def test_a_new_version_replaces_files_and_copies_of_the_old_one(
    visit: Visit, machine: Machine, folder: Path, tmp_path: Path
) -> None:
    later = tmp_path / "later"
    shutil.copytree(STATIC, later)
    with (later / "css" / "notebook.css").open("a") as style:
        style.write("\nh1 { letter-spacing: 3px; }\n")
    old, new = read_static_files(STATIC).version, read_static_files(later).version
    visitor = visit(machine.start(folder), has_workers=True)
    page = open_kept(visitor, "/about")
    assert f"quartervent-files-{old}" in page.evaluate("caches.keys()")

    machine.start(folder, static=later)
    page.reload()
    wait_for(page, "async (old) => (await caches.keys()).every((name) => !name.includes(old))", old)
    page.goto(visitor.site.origin + "/preferences")
    wait_until_kept(page, "pages", "/preferences")
    assert f"quartervent-files-{new}" in page.evaluate("caches.keys()")
    machine.stop()
    page.reload()

    assert page.locator("h1").evaluate("h1 => getComputedStyle(h1).letterSpacing") == "3px"
    without_the_server(visitor)


def test_a_server_that_keeps_silent_is_not_waited_for_when_there_is_a_copy(
    visit: Visit, machine: Machine, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("webapp.pages.web_app.PATIENCE_MS", 200)
    is_over = threading.Event()

    def keep_silent(*_: object, **__: object) -> str:
        is_over.wait()
        return ""

    visitor = visit(machine.start(folder), has_workers=True)
    page = open_kept(visitor, "/about")
    try:
        with monkeypatch.context() as patch:
            patch.setattr("webapp.pages.start.render_template", keep_silent)
            page.reload()
            expect(page.locator(".copy-note")).to_be_visible()
    finally:
        is_over.set()
    without_the_server(visitor)


def test_where_workers_are_refused_everything_else_works(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    visitor = visit(looked_at)
    visitor.add_script(
        "navigator.serviceWorker.register = () => Promise.reject(new Error('refused'));"
    )
    page = visitor.open(f"/fingerings/{rows.base}")
    page.wait_for_load_state()
    assert page.evaluate("caches.keys()") == []


def test_where_there_are_no_workers_at_all_nothing_is_missed(visit: Visit, looked_at: Site) -> None:
    visitor = visit(looked_at)
    visitor.add_script("delete Navigator.prototype.serviceWorker;")
    page = visitor.open("/")
    page.wait_for_load_state()
    assert page.evaluate("'serviceWorker' in navigator") is False
    assert page.locator(".copy-note").count() == 0
