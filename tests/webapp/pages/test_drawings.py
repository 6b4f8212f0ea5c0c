"""The picture of a fingering on its page and as a file.

Truth: PNG (ISO/IEC 15948) begins with its signature and says its size in its first chunk.
"""

import re
import struct
import xml.etree.ElementTree as ET

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled
from webapp.notebook.charts.pdf.pictures import PIXELS_WIDE
from webapp.notebook.store.notebook import Notebook

SVG = "{http://www.w3.org/2000/svg}"


def svg(client: Browser, fingering_id: int, query: str = "") -> ET.Element:
    answer = client.fetch(f"/fingerings/{fingering_id}/drawing.svg{query}")
    assert (answer.status_code, answer.mimetype) == (200, "image/svg+xml")
    assert f"fingering-{fingering_id}.svg" in answer.headers["Content-Disposition"]
    return ET.fromstring(answer.get_data(as_text=True))


def shapes(root: ET.Element) -> int:
    return sum(1 for each in root.iter() if each.tag in (f"{SVG}circle", f"{SVG}rect"))


def test_the_svg_stands_alone_and_says_what_it_is(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    root = svg(filled_client, filled[1].base)
    title = root.find(f"{SVG}title")
    assert title is not None and title.text is not None
    assert title.text.endswith("T R 123 | 123 | right F#")
    assert title.text.startswith("C sharp 5")


def test_reduced_mirrored_and_plain_pictures_differ_as_they_should(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    usual = svg(filled_client, filled[1].base)
    reduced = svg(filled_client, filled[1].base, "?reduced=1")
    plain = svg(filled_client, filled[1].base, "?plain=1")
    assert shapes(reduced) < shapes(usual)
    assert shapes(plain) < shapes(usual), "the halos are gone"
    mirrored = svg(filled_client, filled[1].base, "?mirrored=1")
    assert shapes(mirrored) == shapes(usual)

    def places(root: ET.Element) -> list[float]:
        return [float(each.attrib["cx"]) for each in root.iter(f"{SVG}circle")]

    # The picture is 240 units wide, so that x becomes 240 - x.
    assert places(mirrored) == pytest.approx([240 - x for x in places(usual)])


def test_the_png_has_the_promised_width(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    answer = filled_client.fetch(f"/fingerings/{filled[1].base}/drawing.png?mirrored=1")
    content = answer.get_data()
    assert answer.mimetype == "image/png"
    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    assert struct.unpack(">I", content[16:20])[0] == PIXELS_WIDE


def test_the_page_offers_views_and_files_that_keep_the_choice(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    base = filled[1].base
    page = filled_client.get(f"/fingerings/{base}?mirrored=1")
    here = {each.text for each in page.find("a", aria_current="true")}
    assert here == {"as a teacher faces me", "every key", "with what changed"}
    assert page.find("a", href=f"/fingerings/{base}?reduced=1&mirrored=1#notes")
    for ending in ("svg", "png", "pdf"):
        assert page.find("button", formaction=f"/fingerings/{base}/drawing.{ending}")
    assert page.find("input", type="hidden", name="mirrored")
    unmarked = filled_client.get(f"/fingerings/{filled[1].half_hole}")
    assert "with what changed" not in unmarked.text, "it came from nothing"


def test_not_found_and_wrong_method(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    for number in (999, filled[1].binned_fingering):
        for ending in ("svg", "png"):
            assert filled_client.get(f"/fingerings/{number}/drawing.{ending}").status == 404
    answer = filled_client.open(
        f"/fingerings/{filled[1].base}/drawing.svg", SAME_ORIGIN, method="PUT"
    )
    assert answer.status_code in (400, 405)


def test_the_file_carries_what_was_asked_for(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    base = filled[1].base
    wanted = svg(filled_client, base, "?staff=1&name=1&cents=1&instrument=1")
    plain = svg(filled_client, base)
    shown = [each.text or "" for each in wanted.iter(f"{SVG}text")]
    # it is for C sharp 5 and 25 cents; the staff has the figure too
    assert shown[:3] == ["+25", "C", "5 +25"]
    assert any(re.fullmatch(r"sounds [+−]\d+ ± \d+ cents", text) for text in shown)
    assert len(list(wanted.iter())) > len(list(plain.iter())) + 10
    page = filled_client.fetch(f"/fingerings/{base}/drawing.pdf?staff=1&name=1")
    assert (page.status_code, page.mimetype) == (200, "application/pdf")
    assert page.get_data().startswith(b"%PDF-")  # ISO 32000-2, 7.5.2


def test_a_card_says_the_set_up_the_date_and_the_name_that_are_wanted(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    address = f"/fingerings/{filled[1].base}/drawing.svg"
    plain = filled_client.fetch(address).get_data(as_text=True)
    card = filled_client.fetch(f"{address}?setup=1&date=1&player=A.+Player").get_data(as_text=True)
    for words in ("Mouthpiece: open, invented", "Reed: 3", "A. Player, "):
        assert words in card
        assert words not in plain
