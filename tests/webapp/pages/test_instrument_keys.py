"""The page on which an instrument's keys are switched and named."""

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import add_clarinet, log
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.notebook import Notebook

PATH = "/instruments/1/keys/change"


def add_bass(notebook: Notebook) -> int:
    return add_clarinet(notebook, "Bass", kind_id="b-flat-bass", layout_id="bass-low-c")


def test_it_is_reached_from_the_page_that_changes_the_instrument(
    notebook: Notebook, client: Browser
) -> None:
    add_bass(notebook)
    assert client.get("/instruments/1/edit").find("a", href=PATH)


def test_keys_are_switched_and_named(notebook: Notebook, client: Browser) -> None:
    add_bass(notebook)
    values = client.get(PATH).form().values
    assert "has-left-d" in values
    assert "has-left-c" not in values, "usually missing"
    page = client.submit(
        PATH, "", {"has-left-c": "y", "name-left-eb": "my <b>E flat</b>"}, without=["has-left-d"]
    )
    assert page.status == 200
    assert "keys of this instrument are kept" in page.text
    layout = open_instrument(notebook, 1).layout
    assert layout.has_key("left-c") and not layout.has_key("left-d")
    entry = client.get("/instruments/1/fingerings/new")
    assert "my <b>E flat</b>" in entry.text
    assert "<b>E flat" not in entry.html
    assert client.get(PATH).form().values["name-left-eb"] == "my <b>E flat</b>"


def test_a_key_in_use_stays_and_what_was_typed_survives(
    notebook: Notebook, client: Browser
) -> None:
    bass = add_bass(notebook)
    log(notebook, bass, "D3 +50", "T 123 | 123 | left low D", layout_id="bass-low-c")
    page = client.submit(PATH, "", {"name-thumb": "thumb hole"}, without=["has-left-d"])
    assert page.status == 422
    assert "D quarter-sharp 3" in page.find("p", id="has-left-d-error")[0].text
    assert page.form().values["name-thumb"] == "thumb hole"
    assert "has-left-d" not in page.form().values
    assert open_instrument(notebook, bass).layout.has_key("left-d")


def test_a_name_that_is_taken_is_refused_beside_its_field(
    notebook: Notebook, client: Browser
) -> None:
    add_bass(notebook)
    page = client.submit(PATH, "", {"name-left-d": "right E"})
    assert page.status == 422
    assert "already means" in page.find("p", id="name-left-d-error")[0].text
    assert page.find("a", href="#name-left-d-error"), "the summary leads to it"


def test_a_stale_form_is_refused(notebook: Notebook, client: Browser) -> None:
    add_bass(notebook)
    assert client.submit(PATH, "", {"version": "0"}).status == 409


def test_a_layout_without_optional_keys_says_so(notebook: Notebook, client: Browser) -> None:
    add_clarinet(notebook, layout_id="soprano-german")
    assert "Keys that not every one has" in client.get(PATH).text


def test_not_found_and_wrong_method(notebook: Notebook, client: Browser) -> None:
    assert client.get("/instruments/99/keys/change").status == 404
    add_bass(notebook)
    assert client.open(PATH, SAME_ORIGIN, method="DELETE").status_code in (400, 405)
