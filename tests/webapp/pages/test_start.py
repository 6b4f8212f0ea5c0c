"""The start page and the page about the notebook."""

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled
from webapp.notebook.store.notebook import Notebook


def test_an_empty_notebook_teaches_its_first_entry(client: Browser) -> None:
    page = client.get("/")
    assert page.find("h1")[0].text == "An empty notebook"
    assert page.find("a", href="/instruments/new")
    assert len(page.find("li")) >= 3


def test_a_filled_one_shows_what_there_is_what_is_missing_and_where_to_go_on(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get("/")
    assert "Invented B-flat" in page.text
    assert "Invented bass" in page.text
    assert "Invented, sold" not in page.text
    assert "5 fingerings, 1 measured." in page.text
    assert "Waiting for a recording" in page.text
    assert page.find("a", href=f"/instruments/{rows.soprano}/fingerings/new")
    assert page.find("a", href=f"/instruments/{rows.soprano}/chart")
    assert page.find("a", href=f"/fingerings/{rows.child}")
    search = page.form("/search", method="get")
    assert set(search.values) == {"q", "instrument"}


def test_with_several_instruments_the_search_says_and_asks_which_one_is_written_for(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get("/")
    names = [each.text for each in page.find("option")]
    assert names == ["Invented B-flat", "Invented bass", "every instrument, by sounding pitch"]
    assert page.form("/search", method="get").values["instrument"] == str(
        rows.on_bass and rows.bass
    )


def test_the_page_about_the_notebook_says_where_it_lies(
    notebook: Notebook, client: Browser
) -> None:
    assert str(notebook.folder) in client.get("/about").text
