"""Rules for every page that can be opened.

Truth: RFC 9110 section 9.2.1 (GET is safe); CSP level 3 (what counts as inline code); HTML
Standard (ids are unique, labels belong to controls).
"""

import re
import shutil
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import parse_qs, urldefrag, urlsplit

import pytest
from werkzeug.test import TestResponse

import webapp
from tests.webapp import exact_finder
from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import Filled
from tests.webapp.snapshots import counted_queries, snapshot
from tests.webapp.walking import openable_paths
from webapp.app import create_app
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.notebook import Notebook

LONGEST_PAGE_BYTES = 150_000
TEMPLATES = sorted((Path(webapp.__file__).parent / "templates").rglob("*.html"))
# Names of document types and drawing languages; nothing is fetched from them.
NAMESPACES = ("http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink")
ADDRESS_ATTRIBUTES = (
    "href",
    "src",
    "action",
    "formaction",
    "data",
    "poster",
    "srcset",
    "xlink:href",
)


@dataclass(frozen=True)
class Walk:
    """A notebook through which was walked: what lay there, what it answered, what it was asked."""

    notebook: Notebook
    browser: Browser
    before: dict[str, bytes]
    answers: dict[str, TestResponse]
    statements: tuple[str, ...]


@pytest.fixture(scope="module")
def walk(
    request: pytest.FixtureRequest,
    filled_folder: tuple[Path, Filled],
    pieces_folder: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Walk]:
    """Every page of a filled notebook, opened once for all the tests.

    The long run searches really; the daily one states what the finder finds, which takes seconds.
    """
    source, rows = pieces_folder, filled_folder[1]
    folder = tmp_path_factory.mktemp("pages") / "notebook"
    shutil.copytree(source, folder)
    with pytest.MonkeyPatch.context() as patch, closing(open_notebook(folder)) as notebook:
        if not request.config.getoption("--all"):
            exact_finder.put_in_place_stated(patch)
        app = create_app(notebook)
        browser = Browser(app)
        before = snapshot(notebook)
        with counted_queries(notebook) as statements:
            answers = {path: browser.fetch(path) for path in openable_paths(app, rows)}
        yield Walk(notebook, browser, before, answers, tuple(statements))


@pytest.fixture(scope="module")
def pages(walk: Walk) -> dict[str, Page]:
    """What was answered as a page."""
    return {
        path: Page(answer)
        for path, answer in walk.answers.items()
        if answer.mimetype == "text/html"
    }


def test_opening_everything_changes_no_byte(walk: Walk) -> None:
    assert sum(name.startswith("clips") for name in walk.before) == 14
    assert [path for path, answer in walk.answers.items() if answer.status_code >= 500] == []
    assert find_writes(walk.statements) == []
    assert snapshot(walk.notebook) == walk.before


def test_no_page_is_longer_than_a_phone_reads_at_once(walk: Walk) -> None:
    sizes = {
        path: len(answer.data)
        for path, answer in walk.answers.items()
        if answer.mimetype == "text/html"
    }
    assert {path: size for path, size in sizes.items() if size >= LONGEST_PAGE_BYTES} == {}


def find_writes(statements: Sequence[str]) -> list[str]:
    return [
        each
        for each in statements
        if not each.lstrip().upper().startswith(("SELECT", "WITH", "BEGIN"))
    ]


@pytest.mark.parametrize(
    "step", [6, pytest.param(1, marks=pytest.mark.long_run)], ids=["one in six", "all"]
)
def test_asking_for_the_head_alone_changes_no_byte(walk: Walk, step: int) -> None:
    with counted_queries(walk.notebook) as statements:
        for path in list(walk.answers)[::step]:
            assert walk.browser.open(path, method="HEAD").status_code < 500, path
    assert find_writes(statements) == []
    assert snapshot(walk.notebook) == walk.before


def test_every_kind_of_page_was_opened(pages: dict[str, Page]) -> None:
    statuses = Counter(page.status for page in pages.values())
    assert statuses[200] >= 30
    known = {200, 302, 404, 422}
    assert set(statuses) - {202} == known, "binned are 404, unreadable notes 422, typed lead on"


def test_no_page_holds_inline_code_or_leads_outside(pages: dict[str, Page]) -> None:
    for path, page in pages.items():
        for element in page.elements:
            names = element.attributes.keys()
            assert element.tag not in ("style", "iframe", "object", "embed", "base"), path
            assert "style" not in names, (path, element)
            assert not any(name.startswith("on") for name in names), (path, element)
            if element.tag == "script":
                assert element.attributes.get("src", "").startswith("/static/"), path
                assert not element.text.strip(), path
            for name in ADDRESS_ATTRIBUTES:
                address = urlsplit(element.attributes.get(name, ""))
                assert not (address.scheme or address.netloc), (path, element)


def test_ids_are_unique_and_references_lead_somewhere(pages: dict[str, Page]) -> None:
    for path, page in pages.items():
        ids = Counter(each.attributes["id"] for each in page.elements if each.attributes.get("id"))
        assert [name for name, count in ids.items() if count > 1] == [], path
        for element in page.elements:
            for name in ("for", "aria-describedby", "aria-labelledby"):
                for wanted in element.attributes.get(name, "").split():
                    assert wanted in ids, (path, element)


def test_every_control_has_a_name_a_reader_can_speak(pages: dict[str, Page]) -> None:
    for path, page in pages.items():
        labelled = {each.attributes.get("for") for each in page.elements if each.tag == "label"}
        for element in page.elements:
            if element.tag not in ("input", "select", "textarea"):
                continue
            if element.attributes.get("type") in ("hidden", "checkbox", "radio"):
                continue  # hidden ones are not spoken; the others stand inside their label
            has_name = element.attributes.get("id") in labelled
            is_inside = "data-keys-start" in element.attributes  # inside its label
            assert has_name or is_inside or "aria-label" in element.attributes, (path, element)


def test_every_page_has_one_first_heading_and_a_title(pages: dict[str, Page]) -> None:
    whole = {path: page for path, page in pages.items() if page.find("main")}
    assert len(whole) >= 80
    for path, page in whole.items():
        assert len(page.find("h1")) == 1, path
        titles = [each.text.strip() for each in page.find("title") if "Quartervent" in each.text]
        assert len(titles) == 1, path


@pytest.mark.parametrize("most", [2, pytest.param(40, marks=pytest.mark.long_run)])
def test_inner_links_lead_to_pages_that_exist(
    walk: Walk, pages: dict[str, Page], most: int
) -> None:
    links = {
        urldefrag(element.attributes["href"]).url
        for page in pages.values()
        for element in page.find("a")
        if element.attributes.get("href", "").startswith("/")
    }
    assert len(links) > 30
    assert [
        each for each in links & walk.answers.keys() if walk.answers[each].status_code != 200
    ] == []
    # The many links of coverage, range and trills lead to the same few pages; some stand for all.
    kinds: dict[tuple[str, ...], list[str]] = {}
    routes = walk.browser.client.application.url_map.bind("")
    for link in sorted(each for each in links - walk.answers.keys() if "nonsense" not in each):
        address = urlsplit(link)
        kind = (routes.match(address.path)[0], *parse_qs(address.query, keep_blank_values=True))
        kinds.setdefault(kind, []).append(link)
    some = [link for same in kinds.values() for link in same[:: -(-len(same) // most)]]
    assert [link for link in some if walk.browser.fetch(link).status_code != 200] == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_names_an_outside_address_or_inline_code(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    addresses = [each for each in re.findall(r"(?:https?:)?//[\w.-]+\S*", text) if "." in each]
    assert [each for each in addresses if not each.startswith(NAMESPACES)] == []
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text, re.IGNORECASE)
    assert re.findall(r"<script(?![^>]*\ssrc=)", text) == []


def test_static_files_fetch_nothing_from_outside() -> None:
    folder = Path(webapp.__file__).parent / "static"
    texts = [path for path in folder.rglob("*") if path.suffix in (".css", ".js", ".svg")]
    assert texts
    for path in texts:
        addresses = re.findall(r"(?:https?:)?//[\w-]+\.[\w.-]+\S*", path.read_text("utf-8"))
        outside = [each for each in addresses if not each.startswith(NAMESPACES)]
        assert outside == [], path
