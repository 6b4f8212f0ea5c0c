"""Manifest, service worker and the marks that keep copies of notebooks apart.

Truth: Web Application Manifest (W3C); Service Workers (W3C), "Service worker script request" (a
JavaScript type, scope by its own address); PNG specification (width and height in IHDR).
"""

import json
import re
import shutil
import struct
from pathlib import Path

import pytest
from flask import Flask

from tests.icons import ICONS, STATIC, draw_icon
from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled
from webapp.app import create_app
from webapp.notebook.store.notebook import Notebook, mark_of, read_cookie_key
from webapp.pages.web_app import read_static_files
from webapp.presenting.page_marks import MARK_HEADER
from webapp.presenting.words import PAPER_COLOURS


def size_of(png: bytes) -> tuple[int, int]:
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", png[16:24])
    return width, height


def test_the_manifest_has_what_a_browser_asks_for(client: Browser) -> None:
    answer = client.fetch("/app.webmanifest")
    assert answer.mimetype == "application/manifest+json"
    manifest = json.loads(answer.text)
    assert manifest["name"] == manifest["short_name"] == "Quartervent"
    assert (manifest["start_url"], manifest["scope"]) == ("/", "/")
    assert manifest["display"] == "standalone"
    kinds = {(each["sizes"], each["purpose"]) for each in manifest["icons"]}
    assert kinds == {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")}
    for icon in manifest["icons"]:
        drawn = client.fetch(icon["src"])
        assert drawn.mimetype == icon["type"] == "image/png"
        assert "x".join(map(str, size_of(drawn.data))) == icon["sizes"]


def test_the_bars_of_a_system_have_the_colour_of_the_paper(client: Browser) -> None:
    style = (STATIC / "css" / "tokens.css").read_text("utf-8")
    papers = re.findall(r"--paper: (#\w{6});", style)
    assert papers == [PAPER_COLOURS["light"], PAPER_COLOURS["dark"], PAPER_COLOURS["dark"]]
    metas = client.get("/").find("meta", name="theme-color")
    assert [each.attributes["content"] for each in metas] == list(PAPER_COLOURS.values())


def test_paper_that_was_preferred_is_the_only_colour(client: Browser) -> None:
    client.submit("/preferences", theme="dark")
    (meta,) = client.get("/").find("meta", name="theme-color")
    assert meta.attributes["content"] == PAPER_COLOURS["dark"]
    assert "media" not in meta.attributes


def test_every_page_links_manifest_and_touch_icon(client: Browser) -> None:
    for path in ("/", "/nothing-here"):
        page = client.get(path)
        assert page.find("link", rel="manifest", href="/app.webmanifest")
        (icon,) = page.find("link", rel="apple-touch-icon")
        assert size_of(client.fetch(icon.attributes["href"]).data) == (180, 180)


@pytest.mark.parametrize("name", ICONS)
def test_the_committed_icons_are_drawn_from_the_one_design(name: str) -> None:
    committed = (STATIC / "icons" / name).read_bytes()
    assert size_of(committed) == size_of(draw_icon(name)) == (ICONS[name][0],) * 2


def read_settings(client: Browser) -> tuple[dict[str, object], str]:
    answer = client.fetch("/service-worker.js")
    assert answer.mimetype == "text/javascript"
    first, text = answer.text.split("\n", 1)
    settings = json.loads(first.removeprefix("const SETTINGS = ").removesuffix(";"))
    return settings, text


def test_the_worker_knows_every_file_of_the_app_and_each_is_there(client: Browser) -> None:
    settings, text = read_settings(client)
    assert text == (STATIC / "js" / "service-worker.js").read_text("utf-8")
    files = settings["files"]
    assert isinstance(files, list)
    expected = {f"/static/{path.relative_to(STATIC).as_posix()}" for path in STATIC.rglob("*.*")}
    assert set(files) == expected - {"/static/js/service-worker.js"} | {
        "/fonts/regular.ttf", "/fonts/bold.ttf", "/fonts/signs.otf",
    }  # fmt: skip
    for path in [*files, "/offline"]:
        assert client.fetch(path).status_code == 200, path


def test_the_version_changes_with_every_file(tmp_path: Path) -> None:
    before = read_static_files(STATIC).version
    versions = {before}
    for number, change in enumerate(("css/notebook.css", "js/new.js", "icon.svg")):
        folder = tmp_path / str(number)
        shutil.copytree(STATIC, folder)
        with (folder / change).open("a") as file:
            file.write(" ")
        versions.add(read_static_files(folder).version)
    assert len(versions) == 4
    shutil.copytree(STATIC, tmp_path / "same")
    assert read_static_files(tmp_path / "same").version == before


def test_pages_drawings_and_clips_say_which_notebook_they_are_of(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    mark = mark_of(read_cookie_key(notebook.folder))
    for path in ("/", f"/takes/{rows.take}/clip", f"/takes/{rows.take}/levels.png",
                 f"/fingerings/{rows.base}/drawing.svg"):  # fmt: skip
        assert filled_client.fetch(path).headers[MARK_HEADER] == mark, path
    for path in ("/nothing", "/static/icon.svg", "/offline", "/app.webmanifest",
                 f"/instruments/{rows.soprano}/chart.pdf", f"/takes/{rows.take}/trace.csv",
                 f"/recordings/{rows.recording}/progress"):  # fmt: skip
        assert MARK_HEADER not in filled_client.fetch(path).headers, path


def test_a_demo_is_marked_as_one(notebook: Notebook) -> None:
    demo = Notebook(notebook.folder, notebook.database, notebook.clips, is_demo=True)
    mark = mark_of(read_cookie_key(notebook.folder))
    assert Browser(create_app(demo)).fetch("/").headers[MARK_HEADER] == f"demo-{mark}"


def test_the_page_for_being_offline_is_the_same_for_every_notebook(
    app: Flask, notebook: Notebook
) -> None:
    demo = Notebook(notebook.folder, notebook.database, notebook.clips, is_demo=True)
    pages = {Browser(each).fetch("/offline").text for each in (app, create_app(demo))}
    (page,) = pages
    assert "quartervent serve" in page
    assert "wait in this browser" in page
