"""The start page and the page about the notebook."""

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled
from webapp.notebook.store.notebook import Notebook


def test_an_empty_notebook_teaches_its_first_entry(client: Browser) -> None:
    page = client.get("/")
    assert page.find("h1")[0].text == "An empty notebook"
    assert page.find("a", href="/instruments/new")
    assert len(page.find("li")) >= 3


def test_a_filled_one_shows_the_instrument_in_use_and_where_to_go_on(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/?instrument={rows.soprano}")
    assert "Invented, sold" not in page.text
    assert "5 fingerings, 1 measured." in page.text
    assert "Waiting for a recording" in page.text
    assert page.find("a", href=f"/instruments/{rows.soprano}/range")
    assert page.find("a", href=f"/fingerings/{rows.silent}")
    form = page.form(f"/instruments/{rows.soprano}/notes", method="get")
    parts = {"q.letter", "q.octave", "q.sign", "q.cents"}  # for pages without scripts
    assert set(form.values) == {"q"} | parts


def test_start_puts_the_five_lowest_gaps_on_the_stand(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/?instrument={rows.soprano}")
    form = page.form(f"/instruments/{rows.soprano}/notes/practise")
    stand = filled_client.follow(filled_client.send(page, form))
    assert "F quarter-flat 3" in stand.text or "E quarter-sharp 3" in stand.text
    assert "0 of 5 done" in filled_client.get("/").text


def test_the_note_is_written_for_the_instrument_in_use(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    for number, name in ((rows.soprano, "Invented B-flat"), (rows.bass, "Invented bass")):
        page = filled_client.get(f"/?instrument={number}")
        assert f"Written for {name}." in page.text
        assert page.form(f"/instruments/{number}/notes", method="get")


def test_the_page_about_the_notebook_says_where_it_lies(
    notebook: Notebook, client: Browser
) -> None:
    assert str(notebook.folder) in client.get("/about").text


def test_help_explains_the_loop_the_signs_of_the_player_and_leads_to_all_of_its_parts(
    client: Browser,
) -> None:
    page = client.get("/help")
    assert page.status == 200
    assert len(page.find("div", class_="loop-picture")) == 5
    ids = {each.attributes.get("id") for each in page.find("div")}
    assert {"figure", "drawing", "signs", "keys", "microphone", "words"} <= ids
    assert len(page.find("details", class_="answers")) == 6
    assert "quarter-flat" in page.text
    assert client.get("/").find_in_masthead("a", href="/help")
