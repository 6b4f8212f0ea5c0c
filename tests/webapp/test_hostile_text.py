"""Whatever stands in a text field is text: on every page, in every picture and in print.

The strings are of our own making: markup, quotes, template and typesetting syntax, a right-to-left
override (U+202E), control characters, and characters outside the basic plane.
"""

import random
import unicodedata
from io import BytesIO

import pytest
from pypdf import PdfReader

from analysis.pitch import NoteNames
from analysis.plain_text import clean_text
from tests.pdf_text import read_text
from tests.thinning import every_daily
from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import TakeMaker, add_clarinet, clarinet, draft
from webapp.app import create_app
from webapp.notebook.charts.charts import ChartChoice, make_chart
from webapp.notebook.fingerings.fingerings import log_fingering
from webapp.notebook.instruments.instruments import change_instrument
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.notebook import Notebook

HOSTILE = (
    "<script>alert(1)</script>",
    "\"'><img src=x onerror=alert(1)>",
    "</title></textarea></select><svg onload=alert(1)>",
    "{{ 7 * 7 }}{% raw %}${7*7}",
    '#panic[x] #import "y" $ \\ ` *a* _b_ @c <d>',
    "&lt;b&gt; &amp; &#60;i&#62;",
    "\u202egnirts desrever",
    "nul\x00bell\x07escape\x1b[31m",
    "line\u2028separator\ufeff",
    "夜明け 🎵 ق",
    "javascript:alert(1)",
)


def fill_with(notebook: Notebook, take_maker: TakeMaker, text: str) -> tuple[int, int, int]:
    """Put a text in every field that takes one."""
    instrument = add_clarinet(
        notebook, text[:120], mouthpiece=text, reed=text, barrel=text, notes=text
    )
    wanted = draft(
        "D5 -50", "T R 123 | 12-", base="ordinary:D5:1", notes=text, resistance_notes=text,
        tags=(text.replace(",", ""),),
    )  # fmt: skip
    fingering = log_fingering(notebook, instrument, wanted, names=NoteNames.ENGLISH)
    take = take_maker(notebook, fingering, 520.0, original_name=text)
    return instrument, fingering, take


def paths_with(instrument: int, fingering: int, take: int) -> list[str]:
    """Every page on which the player's texts stand."""
    return [
        "/",
        "/search",
        "/search?q=D5-50c",
        f"/search?q=D5-50c&instrument={instrument}",
        "/charts",
        "/bin/",
        f"/instruments/{instrument}",
        f"/instruments/{instrument}/edit",
        f"/instruments/{instrument}/chart",
        f"/instruments/{instrument}/fingerings/new",
        f"/fingerings/{fingering}",
        f"/fingerings/{fingering}/edit",
        f"/takes/{take}",
    ]


def shape_of(page: Page) -> list[tuple[str, frozenset[str]]]:
    """The elements of a page without their words: hostile text must not change it."""
    return [(each.tag, frozenset(each.attributes)) for each in page.elements]


@pytest.mark.parametrize(
    "texts", [HOSTILE[:6], pytest.param(HOSTILE, marks=pytest.mark.long_run)], ids=["markup", "all"]
)
def test_no_text_adds_an_element_or_attribute_to_any_page(
    notebook: Notebook, take_maker: TakeMaker, texts: tuple[str, ...]
) -> None:
    # The same notebook twice: once with harmless words, once with a hostile text in their place.
    browser = Browser(create_app(notebook))
    harmless = fill_with(notebook, take_maker, "harmless")
    wanted = [shape_of(browser.get(path)) for path in paths_with(*harmless)[6:]]
    for text in texts:
        hostile = fill_with(notebook, take_maker, text)
        for path, shape in zip(paths_with(*hostile)[6:], wanted, strict=True):
            page = browser.get(path)
            assert page.status == 200
            assert shape_of(page) == shape, (text, path)
    for path in paths_with(*harmless)[:6]:
        for element in browser.get(path).elements:
            assert not any(name.startswith("on") for name in element.attributes)
            assert element.tag != "img"
            assert element.tag != "script" or element.attributes["src"].startswith("/static/")


@pytest.mark.parametrize("text", HOSTILE)
def test_pages_show_and_forms_send_back_what_was_typed(
    notebook: Notebook, take_maker: TakeMaker, text: str
) -> None:
    instrument, fingering, take = fill_with(notebook, take_maker, text)
    browser = Browser(create_app(notebook))
    if text in HOSTILE[:7]:  # the others are cleaned, or a reader of pages joins their lines
        seen = " ".join(text.split())
        assert browser.get(f"/fingerings/{fingering}").text.count(seen) >= 4
        assert seen in browser.get(f"/takes/{take}").text
    values = browser.get(f"/fingerings/{fingering}/edit").form().values
    kept = clean_text(text).strip()
    assert values["notes"] == kept
    assert browser.get(f"/instruments/{instrument}/edit").form().values["reed"] == kept


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_text_in_the_printed_chart(
    notebook: Notebook, take_maker: TakeMaker, text: str
) -> None:
    instrument, _, _ = fill_with(notebook, take_maker, text)
    chart = make_chart(
        notebook, ChartChoice(instrument_id=instrument, title=text), writing=Writing()
    )
    reader = PdfReader(BytesIO(chart.pdf))
    printed = "".join(read_text(chart.pdf).split())
    words = [word for word in ("alert(1)", "7*7", "#panic[x]", "&lt;b&gt;") if word in text]
    for word in words:
        assert printed.count("".join(word.split())) >= 2, printed
    catalogue = str(reader.root_object)
    assert "/OpenAction" not in catalogue
    assert "/JavaScript" not in catalogue


def test_hostile_text_typed_as_a_target_is_refused_and_shown_as_text(
    notebook: Notebook, client: Browser
) -> None:
    instrument = add_clarinet(notebook)
    for text in HOSTILE:
        page = client.submit(f"/instruments/{instrument}/fingerings/new", target=text)
        assert page.status == 422
        assert page.form().values["target"] == text
        found = client.get("/search?q=" + "".join(f"%{byte:02X}" for byte in text.encode()))
        assert found.status == 422
        assert not found.find("img")


def test_a_hostile_name_survives_an_edit_conflict_as_text(
    notebook: Notebook, client: Browser
) -> None:
    instrument = add_clarinet(notebook)
    stale = client.get(f"/instruments/{instrument}/edit")
    change_instrument(notebook, instrument, clarinet(HOSTILE[0], notes=HOSTILE[2]), seen_version=1)
    page = client.follow(client.send(stale, stale.form(), fields={"name": HOSTILE[1]}))
    assert page.status == 409
    assert HOSTILE[0] in page.text
    assert page.form().values["name"] == HOSTILE[1]
    assert not page.find("img")


@pytest.mark.parametrize("group", every_daily(3, "LMNPSZC"))
def test_every_category_of_unicode_reaches_page_and_chart(
    notebook: Notebook, take_maker: TakeMaker, group: str
) -> None:
    """General categories of Unicode (UAX 44), noncharacters and halves of pairs included."""
    by_category: dict[str, list[str]] = {}
    for character in map(chr, range(0x110000)):
        category = unicodedata.category(character)
        if category.startswith(group):
            by_category.setdefault(category, []).append(character)
    chance = random.Random(group)
    sample = "".join(
        "".join(chance.sample(every, min(len(every), 7))) for every in by_category.values()
    )
    instrument, fingering, _ = fill_with(notebook, take_maker, f"a{sample}b")
    browser = Browser(create_app(notebook))
    for path in (f"/fingerings/{fingering}", f"/instruments/{instrument}", "/charts"):
        assert browser.get(path).status == 200
    choice = ChartChoice(instrument_id=instrument, title=sample)
    chart = make_chart(notebook, choice, writing=Writing())
    assert len(PdfReader(BytesIO(chart.pdf)).pages) >= 1
