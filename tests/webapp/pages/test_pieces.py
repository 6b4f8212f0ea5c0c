"""The pages of pieces: from a file or typed text to what is still to do, and to the stand."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.analysis.notation.scores import bar, note, score
from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import add_clarinet, log
from tests.webapp.notebook.pieces.filling import add_typed_piece
from webapp.notebook.pieces.pieces import HeadDraft, change_head, open_head
from webapp.notebook.store.clock import today
from webapp.notebook.store.notebook import Notebook

HOSTILE = "<b>Étude</b> & \u202eevil"
TYPED = '12: D5 -50 (1/2) "1/4=60", E5 +25 | 13: C5 & A5'
ARROW = score(bar(note("D5", "natural-up"), number="7"))


@pytest.fixture
def piece(notebook: Notebook, clarinet: int) -> int:
    return add_typed_piece(notebook, clarinet, text=TYPED)


def headings(page: Page) -> list[str]:
    return [" ".join(each.text.split()) for each in page.find("h3")]


def test_a_typed_part_leads_to_what_is_still_to_do_and_to_the_stand(
    notebook: Notebook, clarinet: int, client: Browser
) -> None:
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    assert "None yet." in client.get("/pieces/").text
    page = client.submit("/pieces/new", text=TYPED, title=HOSTILE)
    assert page.status == 200
    assert "<b>Étude" not in page.html
    assert "Still open: bar 12." in page.text
    assert headings(page) == ["E5, 25 cents higher", "D quarter-flat 5"]
    assert "Multiphonic: C5 & A5, once, bar 13" in page.text
    path = page.response.request.path
    stand = client.submit(path, "/practise/1")
    assert "Put on the list: 2." in stand.text
    again = client.submit(path, "/practise/1")
    assert "All of this is on the list already." in again.text
    assert "Étude" in client.get("/pieces/").text


def test_a_score_file_is_read_and_its_question_answered_and_asked_again(
    client: Browser, clarinet: int
) -> None:
    assert clarinet
    page = client.submit("/pieces/new", clip=(ARROW, "arrow study.musicxml"))
    assert page.find("h1")[0].text == "arrow study"
    assert "One thing the part cannot say." in page.text
    path = page.response.request.path
    asked = client.get(f"{path}/questions/")
    assert "How many cents does an arrow add" in asked.text
    assert [each.attributes["data-melody"] for each in asked.find("button", type="button")][:1] == [
        "538.584"  # D5 a quarter tone up, on a B-flat clarinet: 440 * 2 ** (350 / 1200)
    ]
    answered = client.submit(f"{path}/questions/", "/questions/arrows", cents="33,3")
    assert "Everything is answered." in answered.text
    assert headings(answered) == ["D5, 33.3 cents higher"]
    back = client.submit(f"{path}/questions/", "/questions/arrows/again")
    assert "How many cents does an arrow add" in back.text
    wrong = client.submit(f"{path}/questions/", "/questions/arrows", cents="lots")
    assert wrong.status == 422
    assert "Give the size in cents" in wrong.text


@pytest.mark.parametrize(
    ("typed", "clip", "words"),
    [
        ("", None, "Choose a score file, type the notes, or open the printed part."),
        ("D5, what is this", None, "Bar 1, note 2"),
        ("", (b"%PDF-1.4 part", "part.pdf"), "which shows notes but holds none"),
        ("D5", (ARROW, "a.xml"), "both were given"),
    ],
)
def test_what_cannot_be_read_comes_back_with_what_was_typed(
    client: Browser, clarinet: int, typed: str, clip: tuple[bytes, str] | None, words: str
) -> None:
    assert clarinet
    page = client.submit("/pieces/new", clip=clip, text=typed, title="Kept")
    assert page.status in (422, 415)
    assert words in page.text
    assert page.form("").values["title"] == "Kept"
    assert page.form("").values["text"] == typed


def test_a_note_is_settled_fixed_and_given_the_composers_fingering(
    notebook: Notebook, clarinet: int, client: Browser, piece: int
) -> None:
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    path = f"/pieces/{piece}"
    shown = f"{path}/on/{clarinet}/notes/D5-50c"
    page = client.submit(shown, "/composers", keys="T R 123 | 1--")
    assert "The composer’s T R 123 | 1-- waits to be tried first." in page.text
    wrong = client.submit(shown, "/composers", keys="nonsense!")
    assert wrong.status == 422
    fixed = client.submit(shown, "/fix", place="at 0 0")
    assert "Fixed. No plan changes it." in fixed.text
    assert "bar 12" in fixed.text
    settled = client.submit(shown, "/settle", how="ask", reason=HOSTILE)
    assert "Settled: ask the composer, <b>Étude" in settled.text
    assert "<b>Étude" not in settled.html
    assert headings(settled) == ["E5, 25 cents higher", "D quarter-flat 5"]
    opened = client.submit(shown, "/open-again")
    assert "Settled:" not in opened.text
    assert client.get(f"{path}/on/{clarinet}/notes/C4").status == 404
    assert client.get(f"{path}/on/{clarinet}/notes/nonsense").status == 404


def test_a_multiphonic_is_given_a_fingering_and_the_word_that_it_speaks(
    client: Browser, piece: int
) -> None:
    path = f"/pieces/{piece}"
    page = client.submit(path, "/composers", keys="T R 1-- | 1--")
    assert "T R 1-- | 1--: not tried." in page.text
    page = client.submit(path, "/speaks", speaks="yes")
    assert "T R 1-- | 1--: speaks." in page.text


def test_the_head_is_changed_and_the_piece_goes_to_the_bin_and_back(
    notebook: Notebook, client: Browser, piece: int
) -> None:
    other = add_clarinet(notebook, "A", kind_id="a-soprano")
    path = f"/pieces/{piece}/change"
    page = client.submit(path, "", title="Nocturne", concert_on="2999-01-02")
    assert "Nocturne" in page.text
    assert "Concert in" in page.text
    assert client.submit(path, "", title="").status == 422
    stale = client.submit(path, "", version="1", title="Other")
    assert stale.status == 409
    page = client.submit(path, "/import", text="12: D5 -50")
    assert "2 bars are not as before." in page.text
    assert "13 (gone)" in page.text
    elsewhere = client.get(f"/pieces/{piece}?instrument={other}")
    assert "No single note of this part is for A" in elsewhere.text
    assert "For an instrument of another transposition" in elsewhere.text
    gone = client.submit(path, f"/bin/piece/{piece}")
    assert "The piece was moved to the bin." in gone.text
    assert client.get(f"/pieces/{piece}").status == 404
    back = client.submit("/bin/", "/restore")
    assert "Nocturne" in back.text


def test_the_table_has_a_row_a_note(client: Browser, piece: int) -> None:
    answer = client.fetch(f"/pieces/{piece}/still-to-do.csv")
    header, *rows = csv.reader(answer.get_data(as_text=True).splitlines())
    assert header[:4] == ["note", "written", "count", "bars"]
    assert [row[1] for row in rows] == ["D5-50c", "E5+25c"]


def test_every_page_has_its_place_in_the_masthead_and_no_inline_code(
    client: Browser, clarinet: int, piece: int
) -> None:
    for path in (
        "/pieces/", "/pieces/new", f"/pieces/{piece}", f"/pieces/{piece}/change",
        f"/pieces/{piece}/changes", f"/pieces/{piece}/questions/",
        f"/pieces/{piece}/on/{clarinet}/notes/D5-50c",
    ):  # fmt: skip
        page = client.get(path)
        assert page.status == 200, path
        assert len(page.find_in_masthead("a", aria_current="page")) == 1
        assert "style=" not in page.html.replace("font-style=", "")
        assert not [each for each in page.find("script") if "src" not in each.attributes]


def test_the_days_to_the_concert_have_their_lists(
    notebook: Notebook, clarinet: int, client: Browser, piece: int
) -> None:
    head = open_head(notebook, piece)
    day = today() + timedelta(days=3)
    draft = HeadDraft(head.piece.title, "", day, (clarinet,))
    change_head(notebook, piece, draft, seen_version=head.piece.version)
    page = client.get(f"/pieces/{piece}?minutes=30")
    assert "Day by day to the concert" in page.text
    assert "30 minutes a day" in page.text
    assert "Today: D quarter-flat 5" in page.text
    form = next(each for each in page.forms if ("order", "today", "") in each.buttons)
    answer = client.send(page, form, fields={"order": "today"})
    assert "/stand" in answer.headers["Location"]
    assert "5 to 120" in client.get(f"/pieces/{piece}?minutes=500").text
    change_head(
        notebook, piece, replace(draft, concert_on=today()), seen_version=head.piece.version + 1
    )
    assert "Day by day" not in client.get(f"/pieces/{piece}").text


def test_a_sheet_is_printed_and_what_differs_is_said(
    notebook: Notebook, clarinet: int, client: Browser, piece: int
) -> None:
    path = f"/pieces/{piece}/sheets/"
    page = client.get(path)
    answer = client.send(page, page.form("/sheet.pdf"), fields={"paper": "letter"})
    assert answer.mimetype == "application/pdf"
    assert answer.data.startswith(b"%PDF-")
    assert "It still holds." in client.get(path).text
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    assert "Bar 12, D quarter-flat 5: T R 123 | 12-" in client.get(path).text
    assert client.send(page, page.form("/sheet.pdf"), fields={"paper": "wall"}).status_code == 422
    strips = client.send(page, page.form("/sheet.pdf"), fields={"kind": "strips"})
    assert strips.data.startswith(b"%PDF-")
    assert strips.data != answer.data
    client.submit(path, "/2/forget")
    assert "Printed sheets" not in client.submit(path, "/1/forget").text
