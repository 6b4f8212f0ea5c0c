"""Pages of what is handed on and of what came from others, as a player goes through them."""

import io
import zipfile
from pathlib import Path

import pytest

from analysis.pitch import NoteNames
from tests.webapp.browsing import Browser
from tests.webapp.conftest import Opener
from tests.webapp.logging_rows import Filled, add_clarinet
from webapp.app import create_app
from webapp.notebook.exchange import selecting
from webapp.notebook.store.notebook import Notebook
from webapp.pages import hand_on as pages_hand_on


@pytest.fixture
def other(opened: Opener, empty_folder: Path) -> Browser:
    """A browser on the notebook of another player, who has one clarinet."""
    notebook = opened(empty_folder)
    add_clarinet(notebook, "Mine")
    return Browser(create_app(notebook))


def hand_on(browser: Browser, rows: Filled, **fields: str) -> bytes:
    page = browser.get(f"/instruments/{rows.soprano}/hand-on")
    return bytes(browser.send(page, page.form("/hand-on"), fields=fields).data)


def test_from_one_notebook_to_another(
    filled: tuple[Notebook, Filled], filled_client: Browser, other: Browser
) -> None:
    archive = hand_on(filled_client, filled[1], player_name="A. Player", list_title="For next week")
    assert "exchange.json" in zipfile.ZipFile(io.BytesIO(archive)).namelist()
    page = other.submit("/received", "/received", clip=(archive, "from-a-player.zip"))
    assert "Nothing is kept yet" in page.text
    assert "For next week" in page.text
    assert "From others" in other.get("/received").text
    assert "A. Player" not in other.get("/received").text
    page = other.follow(other.send(page, page.form("/keep")))
    assert "counts for none of your figures" in page.text
    assert "measured by A. Player" in page.text
    again = other.submit("/received", "/received", clip=(archive, "again.zip"))
    assert "Nothing would change" in again.text
    page = other.follow(other.send(page, page.form("/accept")))
    assert "on your list" in page.text


def test_the_name_is_remembered(filled: tuple[Notebook, Filled], filled_client: Browser) -> None:
    hand_on(filled_client, filled[1], player_name="A. Player")
    page = filled_client.get(f"/instruments/{filled[1].soprano}/hand-on")
    assert page.form("/hand-on").values["player_name"] == "A. Player"


def test_only_what_is_ticked_goes_along(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    page = filled_client.get(f"/instruments/{rows.soprano}/hand-on")
    form = page.form("/hand-on")
    form.values.setlist("fingering", [str(rows.base)])
    archive = filled_client.send(page, form).data
    names = zipfile.ZipFile(io.BytesIO(archive)).namelist()
    assert len([name for name in names if name.startswith("drawings/")]) == 1


def test_more_than_can_be_ticked_are_counted_and_not_loaded(
    filled: tuple[Notebook, Filled], filled_client: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, rows = filled
    address = f"/instruments/{rows.soprano}/hand-on"
    assert len(filled_client.get(address).find("input", name="fingering")) == 5
    for module in (selecting, pages_hand_on):
        monkeypatch.setattr(module, "SHOWN_AT_MOST", 4)
    page = filled_client.get(address)
    assert "All 5 go along." in page.text
    assert not page.find("input", name="fingering")
    selected = selecting.open_selection(
        notebook, selecting.Selection(rows.soprano), NoteNames.ENGLISH
    )
    assert (selected.count, selected.fingerings) == (5, ())


def test_what_is_wrong_is_said_beside_its_field(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/instruments/{filled[1].soprano}/hand-on"
    page = filled_client.submit(path, "/hand-on", message="Only a message.")
    assert page.status == 422
    assert "give the list a title" in page.text
    page = filled_client.get(f"{path}?low=nonsense")
    assert page.status == 422


@pytest.mark.parametrize("content", [b"no archive", b"PK\x05\x06" + bytes(18)])
def test_what_is_no_archive_is_refused_on_the_page(client: Browser, content: bytes) -> None:
    page = client.submit("/received", "/received", clip=(content, "x.zip"))
    assert page.status == 422
    assert "archive of fingerings" in page.text


def test_no_file_chosen_is_said(client: Browser) -> None:
    page = client.submit("/received", "/received")
    assert "No file was chosen" in page.text


def test_theirs_is_marked_on_the_page_of_a_note_and_tried_from_there(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    page = filled_client.get(f"/instruments/{rows.soprano}/notes/C%235+25c")
    assert "From others" in page.text
    assert "from Invented Player, on Invented B-flat" in page.text
    page = filled_client.submit("/received/fingerings/1", "/try")
    assert "a fingering of Invented Player" in page.text
    assert "Not tried" in page.text


def test_an_archive_may_be_put_away(filled: tuple[Notebook, Filled], filled_client: Browser,
                                    other: Browser) -> None:  # fmt: skip
    archive = hand_on(filled_client, filled[1])
    page = other.submit("/received", "/received", clip=(archive, "x.zip"))
    path = page.response.request.path
    page = other.follow(other.send(page, page.form("/throw-away")))
    assert "Nothing was kept" in page.text
    assert other.get(path).status == 404


def test_the_table_and_the_chart_say_whose_it_is(filled_client: Browser) -> None:
    table = filled_client.get("/received/1/table.csv").html
    assert table.splitlines()[1].startswith("Invented Player,Invented B-flat,C#5+25c")
    chart = filled_client.fetch("/received/1/chart.pdf")
    assert chart.mimetype == "application/pdf"


def test_keys_that_are_lacking_are_said_on_the_page(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get("/received/fingerings/1")
    answer = filled_client.send(page, page.form("/try"), fields={"instrument": "99"})
    assert answer.status_code == 404


def test_a_piece_is_handed_on_from_its_page(
    with_pieces: tuple[Notebook, Filled],
) -> None:
    (notebook, rows), piece = with_pieces, 1
    client = Browser(create_app(notebook))
    path = f"/instruments/{rows.soprano}/hand-on?piece={piece}"
    assert client.get(f"/pieces/{piece}").find("a", href=path)
    page = client.get(path)
    form = page.form(f"/hand-on?piece={piece}")
    assert form.values["list_title"] == "Study"
    names = zipfile.ZipFile(io.BytesIO(client.send(page, form).data)).namelist()
    assert "exchange.json" in names
