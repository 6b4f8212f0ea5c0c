"""The page of own pages: a part on paper is opened, marked, changed and printed without scripts."""

from __future__ import annotations

import pytest

from tests.analysis.paper.papers import A4_POINTS, locked_pdf, pdf, photo
from tests.webapp.browsing import Browser, PageForm
from tests.webapp.logging_rows import log
from tests.webapp.notebook.pieces.filling import add_typed_piece, mark_a_page
from webapp.notebook.own_pages.opening import open_own_pages
from webapp.notebook.store.notebook import Notebook

HOSTILE = "<b>Étude</b>.pdf"


@pytest.fixture
def piece(notebook: Notebook, clarinet: int) -> int:
    """A typed piece with a page, on which one note is marked."""
    piece = add_typed_piece(notebook, clarinet, text="12: D5 -50, E5 +25 | 13: F5")
    mark_a_page(notebook, piece, "D5 -50")
    return piece


def test_a_part_on_paper_becomes_a_piece_by_marking_it(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    page = client.submit("/pieces/new", files={"pages": [(pdf(A4_POINTS, A4_POINTS), HOSTILE)]})
    assert page.status == 200
    assert "Page 1 of 2" in page.text
    assert "<b>Étude" not in page.html
    path = page.response.request.path
    page = client.submit(path, "/marks?page=1", notes="D5 -50", bar="12", x_mm="40", y_mm="60,5")
    assert "Bar 12, D quarter-flat 5" in page.text
    assert page.form("/marks?page=1").values["bar"] == "12"
    (shown,) = page.find("g", class_="page-mark")
    assert shown.attributes["transform"] == "translate(40 60.5)"
    todo = client.get(path.removesuffix("/pages/"))
    assert "Once: bar 12" in todo.text


def test_what_is_refused_stands_beside_what_was_typed(client: Browser, piece: int) -> None:
    path = f"/pieces/{piece}/pages/"
    for fields, words in (
        ({"notes": "D5", "bar": ""}, "Give the bar by its number"),
        ({"notes": "what", "bar": "7"}, "what"),
        ({"notes": "D5", "bar": "7", "x_mm": ""}, "Touch the page where the note is"),
        ({"notes": "D5", "bar": "7", "x_mm": "400"}, "210 mm wide and 297 mm tall"),
    ):
        page = client.submit(
            path, "/marks?page=1", {"x_mm": "40", "y_mm": "60", "reference": "", **fields}
        )
        assert page.status == 422
        assert words in page.text
        assert page.form("/marks?page=1").values["notes"] == fields["notes"]


def test_a_mark_is_changed_moved_and_taken_off(
    notebook: Notebook, client: Browser, piece: int
) -> None:
    path = f"/pieces/{piece}/pages/"
    page = client.get(path)
    mark = open_own_pages(notebook, piece).marks[0].mark.id
    prefix = f"mark-{mark}-"
    changed = client.submit(path, f"/marks/{mark}/change?page=1", {f"{prefix}form": "letter",
                                                              f"{prefix}x_mm": "90"})  # fmt: skip
    assert changed.find("g", class_="page-mark")[0].attributes["transform"] == "translate(90 50)"
    wrong = client.submit(path, f"/marks/{mark}/change?page=1", {f"{prefix}bar": ""})
    assert wrong.status == 422
    assert "Give the bar" in wrong.text
    token = page.form("/marks?page=1").values["csrf_token"]
    address = f"{path}marks/{mark}/place.json"
    moved = client.send(
        page, PageForm(address, "post"), fields={"csrf_token": token, "x_mm": "12.5", "y_mm": "20"}
    )
    assert (moved.status_code, open_own_pages(notebook, piece).marks[0].mark.x_mm) == (200, 12.5)
    for x in ("nan", "here", "999"):
        refused = client.send(
            page, PageForm(address, "post"), fields={"csrf_token": token, "x_mm": x, "y_mm": "20"}
        )
        assert refused.status_code == 422
        assert "error" in refused.get_json()
    gone = client.submit(path, f"/marks/{mark}/remove?page=1")
    assert "None yet." in gone.text


def test_what_changed_is_said_until_it_was_seen(
    notebook: Notebook, client: Browser, clarinet: int, piece: int
) -> None:
    path = f"/pieces/{piece}/pages/"
    assert "than you saw last" not in client.get(path).text
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    page = client.get(path)
    assert "One mark has another fingering than you saw last" in page.text
    assert len(page.find("rect", class_="changed-ring")) == 1
    assert "than you saw last" not in client.submit(path, "/seen?page=1").text


def test_the_next_note_of_the_part_is_offered(client: Browser, piece: int) -> None:
    path = f"/pieces/{piece}/pages/"
    page = client.get(path)
    # the mark was put by hand in bar 12, so the part still asks for its place there
    assert [each.text for each in page.find("option")][:2] == [
        "Bar 12: D quarter-flat 5", "Bar 12: E5, 25 cents higher",
    ]  # fmt: skip
    page = client.submit(path, "/marks?page=1", x_mm="90", y_mm="60")
    assert next(each.text for each in page.find("option")) == "Bar 12: E5, 25 cents higher"


def test_pages_are_added_and_removed_and_refused_by_name(client: Browser, piece: int) -> None:
    path = f"/pieces/{piece}/pages/"
    page = client.submit(path, "/add", files={"pages": [(photo(), "b.jpg"), (photo("PNG"), "c")]})
    assert "Page 2 of 3" in page.text
    for content, words in ((locked_pdf(), "opens with a password only"), (b"GIF89a", "no PDF")):
        wrong = client.submit(path, "/add", files={"pages": [(content, "x.pdf")]})
        assert wrong.status == 422
        assert words in wrong.text
    none = client.submit(path, "/add")
    assert "No file was chosen." in none.text
    removed = client.submit(path, "/files/2/remove")
    assert "Page 1 of 2" in removed.text


def test_a_page_is_handed_out_as_a_picture_and_all_of_them_as_pdf(
    client: Browser, piece: int, notebook: Notebook
) -> None:
    file = open_own_pages(notebook, piece).pages[0].file.id
    picture = client.fetch(f"/pieces/{piece}/pages/files/{file}/0")
    assert (picture.mimetype, picture.data[:4]) == ("image/png", b"\x89PNG")
    assert client.fetch(f"/pieces/{piece}/pages/files/{file}/1").status_code == 404
    assert client.fetch(f"/pieces/{piece}/pages/files/999/0").status_code == 404
    pdf_answer = client.fetch(f"/pieces/{piece}/pages/my-pages.pdf")
    assert (pdf_answer.mimetype, pdf_answer.data[:5]) == ("application/pdf", b"%PDF-")


def test_a_piece_without_pages_asks_for_them(
    client: Browser, notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet)
    page = client.get(f"/pieces/{piece}/pages/")
    assert "Open your part as it is printed" in page.text
    assert client.fetch(f"/pieces/{piece}/pages/my-pages.pdf").status_code == 404
    both = client.submit("/pieces/new", text="D5", files={"pages": [(pdf(), "a.pdf")]})
    assert both.status == 422
    assert "Bring one of them now" in both.text
