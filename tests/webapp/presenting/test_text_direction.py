"""A player's words in a script read from right to left do not turn the line that they stand in.

They stand in an element of their own direction, or between isolates where there is room for text
only (Unicode Standard Annex 9; HTML Standard, "The dir attribute", "The bdi element").
"""

from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from markupsafe import Markup

from analysis.finder import Strategy
from analysis.keywork import load_layout, write_layout
from analysis.pitch import NoteNames
from tests.webapp.browsing import SAME_ORIGIN, VOID, Browser
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, draft
from tests.webapp.pages.sending import error_of, send
from tests.webapp.tones import tone_wav
from webapp.app import create_app
from webapp.notebook.fingerings.fingerings import log_fingering
from webapp.notebook.instruments.layouts import add_layout, retold
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.store.notebook import Notebook
from webapp.presenting.text_direction import (
    isolate,
    isolate_plain,
    isolate_quotes,
    isolate_quotes_plain,
)

WORD = "קלרינט 7"
ISOLATE = "\u2068"


class Turning(HTMLParser):
    """Finds where a word stands that could turn its line."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.seen = 0
        self.problems: list[str] = []
        self._open: list[tuple[str, dict[str, str | None]]] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = dict(attrs)
        for name, value in attrs:
            if name != "dir" and value and WORD in value:
                self._judge(value, f"{tag} {name}", attributes)
        if tag not in VOID:
            self._open.append((tag, attributes))

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        if WORD in data:
            tag, attributes = self._open[-1]
            # A choice with nothing beside the word, and the text of a layout's file, turn nothing.
            is_alone = tag == "option" and data.strip() == WORD
            is_alone = is_alone or attributes.get("id") == "toml"
            if not is_alone and tag != "bdi":
                self._judge(data, tag, attributes)
            else:
                self.seen += 1

    def _judge(self, text: str, place: str, attributes: dict[str, str | None]) -> None:
        self.seen += 1
        if attributes.get("dir") != "auto" and ISOLATE + WORD not in text:
            self.problems.append(f"{place}: {text.strip()[:80]}")


@pytest.fixture
def paths(
    notebook: Notebook, take_maker: TakeMaker, fake_finder: FakeFinder
) -> Iterator[list[str]]:
    """Every page on which the player's words stand, with such words in every field."""
    del fake_finder  # only has to be there
    shipped = load_layout("soprano-17-6")
    text = write_layout(retold(shipped, id="mine", name=WORD, provenance="for tests"))
    layout = add_layout(notebook, text)
    other = add_clarinet(notebook, "another", layout_id=layout)
    instrument = add_clarinet(notebook, WORD, mouthpiece=WORD, reed=WORD, barrel=WORD, notes=WORD)
    wanted = draft(
        "D5 -50", "T R 123 | 12-", base="ordinary:D5:1", notes=WORD, resistance_notes=WORD,
        tags=(WORD,), strategy=Strategy.FOUND,
    )  # fmt: skip
    fingering = log_fingering(notebook, instrument, wanted, names=NoteNames.ENGLISH)
    take = take_maker(notebook, fingering, 520.0, original_name=WORD)
    practice = start_practice(notebook, instrument, PracticeDraft(notes=WORD))
    own_pages = (
        "", "/edit", "/chart", "/keys/change", "/next", "/range", "/practice", "/recordings",
        "/fingerings/new", "/tries", "/plan",
    )  # fmt: skip
    yield [
        "/", "/search", f"/search?q=D5-50c&instrument={instrument}", "/search?q=C5-50c", "/charts",
        "/bin/", "/layouts/", f"/layouts/{layout}", f"/layouts/{layout}/edit", "/compare",
        f"/instruments/{other}", f"/instruments/{other}/edit", f"/instruments/{other}/keys/change",
        *(f"/instruments/{instrument}{page}" for page in own_pages),
        f"/fingerings/{fingering}", f"/fingerings/{fingering}/edit", f"/takes/{take}",
        f"/practice/{practice}", f"/practice/{practice}/stand",
    ]  # fmt: skip


def test_no_word_of_the_players_turns_its_line(notebook: Notebook, paths: list[str]) -> None:
    browser = Browser(create_app(notebook))
    seen = {}
    for path in paths:
        page = browser.get(path)
        looked_at = Turning(page.html)
        assert looked_at.problems == [], path
        seen[path] = looked_at.seen if page.status == 200 else page.status
    assert all(count for path, count in seen.items() if path != "/bin/"), seen


def test_no_refusal_is_turned_by_what_it_quotes(notebook: Notebook, paths: list[str]) -> None:
    del paths  # only has to be there
    browser = Browser(create_app(notebook))
    add_clarinet(notebook, WORD, layout_id="mine")
    refused = {
        "a layout in use": browser.submit("/layouts/mine", "/remove"),
        "a long tag": browser.submit("/fingerings/1/edit", tags=WORD * 20),
        "a target": browser.submit("/practice/1", "/targets/typed", targets=WORD),
        "a pitch": browser.get(f"/search?q={WORD}&instrument=1"),
    }
    for name, page in refused.items():
        assert page.status == 422, name
        looked_at = Turning(page.html)
        assert looked_at.problems == [], name
        assert looked_at.seen, name


def test_no_refusal_for_a_script_is_turned_by_what_it_quotes(
    notebook: Notebook, paths: list[str]
) -> None:
    del paths  # only has to be there
    client = Browser(create_app(notebook))
    refused = send(client, "/practice/1/tuning-note.json", tone_wav(440.0), written=WORD)
    assert refused.status_code == 422
    said = [error_of(refused)["message"]]
    typed = client.fetch("/instruments/1/keys?text=T " + WORD, SAME_ORIGIN).json
    assert typed is not None
    said.append(typed["problem"])
    for message in said:
        quoted = [part for part in message.split("'")[1::2] if part]
        assert quoted, message
        for each in quoted:
            assert each.startswith("\u2068") and each.endswith("\u2069"), message


def test_words_of_the_players_stay_text() -> None:
    assert isolate_quotes("no “<b>”, no <i>") == Markup("no “<bdi>&lt;b&gt;</bdi>”, no &lt;i&gt;")
    assert isolate_quotes("'a' isn't b, can't be") == Markup(
        "&#39;<bdi>a</bdi>&#39; isn&#39;t b, can&#39;t be"
    )
    assert isolate_quotes_plain("no “<b>”, 'a' isn't b") == (
        "no “\u2068<b>\u2069”, '\u2068a\u2069' isn't b"
    )
    assert isolate("<b>") == Markup("<bdi>&lt;b&gt;</bdi>")
    assert isolate_plain("<b>") == "\u2068<b>\u2069"
