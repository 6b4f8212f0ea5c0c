"""Fields that ask for a note: choices to touch, the note put together, and the spelling kept."""

from urllib.parse import quote

import pytest

from analysis.pitch import SIGN_SYSTEMS, SystemId, WrittenPitch
from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import add_clarinet
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.notebook import Notebook


def ask(client: Browser, instrument: int, **query: str) -> Page:
    asked = "&".join(f"{name.replace('_', '.')}={quote(each)}" for name, each in query.items())
    return client.get(f"/search?instrument={instrument}&{asked}")


def offered(page: Page, name: str = "q.choice") -> list[str]:
    return [each.attributes["value"] for each in page.find("button", name=name)]


def found(page: Page) -> str:
    (heading,) = page.find("h2", id="found")
    return heading.text


def test_a_note_without_octave_is_asked_with_every_octave_as_a_button(
    notebook: Notebook, client: Browser
) -> None:
    soprano = add_clarinet(notebook)
    page = ask(client, soprano, q="D")
    assert page.status == 422
    assert offered(page) == ["D4", "D5", "D6"]
    assert found(ask(client, soprano, q="D", q_choice="D5")) == "D5"


def test_an_arrow_is_asked_unless_the_players_signs_have_it(
    notebook: Notebook, client: Browser
) -> None:
    soprano = add_clarinet(notebook)
    page = ask(client, soprano, q="D↑5")
    assert page.status == 422
    assert "Arrows differ" in page.text
    assert offered(page)[0] == "D quarter-sharp 5"
    assert found(ask(client, soprano, q="D↑5", q_choice=offered(page)[1])) == "D5, 25 cents higher"
    change_preferences(notebook, Writing(accidentals=SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH]))
    assert found(ask(client, soprano, q="D↑5")) == "D5, 25 cents higher"


def test_names_of_another_language_are_offered_in_ones_own(
    notebook: Notebook, client: Browser
) -> None:
    page = ask(client, add_clarinet(notebook), q="ré5 quart de ton plus haut")
    assert page.status == 422
    assert offered(page) == ["D quarter-sharp 5"]


def test_a_shift_alone_counts_from_the_note_that_was_found(
    notebook: Notebook, client: Browser
) -> None:
    soprano = add_clarinet(notebook)
    refused = ask(client, soprano, q="+50")
    assert refused.status == 422
    assert "Write the note first: D5 +50" in refused.text
    page = ask(client, soprano, q="D5")
    (near,) = page.find("input", name="near")
    assert found(ask(client, soprano, q="+50", near=near.attributes["value"])) == (
        "D quarter-sharp 5"
    )


def test_the_page_says_how_it_read_a_fraction(notebook: Notebook, client: Browser) -> None:
    page = ask(client, add_clarinet(notebook), q="d5-1/4")
    assert found(page) == "D quarter-flat 5"
    assert "1/4 is read as a part of a whole tone: 50 cents." in page.text


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"letter": "D", "octave": "5", "sign": "-50", "cents": ""}, "D quarter-flat 5"),
        ({"letter": "F", "octave": "5", "sign": "50", "cents": "+20"},
         "F quarter-sharp 5, 20 cents higher"),
        ({"letter": "A", "octave": "4", "sign": "-100", "cents": "−13,7"},
         "A flat 4, 13.7 cents lower"),
    ],
)  # fmt: skip
def test_without_scripts_a_note_is_put_together_from_fields(
    notebook: Notebook, client: Browser, parts: dict[str, str], words: str
) -> None:
    query = {f"q_{name}": value for name, value in parts.items()}
    assert found(ask(client, add_clarinet(notebook), q="ignored", **query)) == words


@pytest.mark.parametrize(("name", "value"), [("cents", "much"), ("octave", "x"), ("sign", "1/0")])
def test_parts_that_make_no_note_are_refused(
    notebook: Notebook, client: Browser, name: str, value: str
) -> None:
    query = {"q_letter": "D", f"q_{name}": value}
    page = ask(client, add_clarinet(notebook), q="", **query)
    assert page.status == 422
    assert "Choose a note, an octave and a sign" in page.text


def test_what_was_touched_counts_as_long_as_its_text_stands(
    notebook: Notebook, client: Browser
) -> None:
    soprano = add_clarinet(notebook)
    page = ask(client, soprano, q="D5+30c", q_touched="D5+30c~50")
    assert found(page) == "D quarter-sharp 5, 20 cents lower"
    assert [each.attributes["value"] for each in page.find("input", name="q.touched")] == [
        "D5+30c~50"
    ]
    assert found(ask(client, soprano, q="E5", q_touched="D5+30c~50")) == "E5"


def test_the_spelling_that_was_typed_is_kept_with_the_fingering(
    notebook: Notebook, client: Browser
) -> None:
    soprano = add_clarinet(notebook)
    address = f"/instruments/{soprano}/fingerings/new"
    page = client.submit(address, target="F#5 -30", strategy="found", keys_text="T R 123 | ---")
    (heading,) = page.find("h1")
    assert heading.text == "F sharp 5, 30 cents lower"
    assert '<span class="sign">\ue262</span>5<span class="note-cents">−30</span>' in page.html


def test_on_the_log_page_the_choices_keep_what_was_filled_in(
    notebook: Notebook, client: Browser
) -> None:
    address = f"/instruments/{add_clarinet(notebook)}/fingerings/new"
    page = client.submit(address, target="D", strategy="found", notes="soft")
    assert page.status == 422
    assert offered(page, "target.choice") == ["D4", "D5", "D6"]
    assert page.form().values["notes"] == "soft"


def test_an_entry_by_touch_knows_the_range_and_the_signs(
    notebook: Notebook, client: Browser
) -> None:
    page = client.get(f"/instruments/{add_clarinet(notebook)}/fingerings/new")
    (entry,) = [each for each in page.find("details") if "data-note-entry" in each.attributes]
    view = entry.attributes["data-view"]
    assert '"name": "E3"' in view
    assert '"name": "G6"' in view
    assert entry.attributes["data-field"] == "target"
    fields = [each.attributes.get("name") for each in page.find("select")]
    assert {"target.letter", "target.octave", "target.sign"} <= set(fields)


def test_a_session_list_offers_the_whole_text_with_what_was_meant(
    notebook: Notebook, client: Browser
) -> None:
    soprano = add_clarinet(notebook)
    client.submit(f"/instruments/{soprano}/practice")
    page = client.submit("/practice/1", "/targets/typed", {"targets": "E5\nD\nF5"})
    assert page.status == 422
    assert offered(page, "targets.choice") == ["E5\nD4\nF5", "E5\nD5\nF5", "E5\nD6\nF5"]


def test_canonical_text_stands_in_addresses(notebook: Notebook, client: Browser) -> None:
    page = ask(client, add_clarinet(notebook), q="D quarter-flat 5")
    assert any("q=D5-50c" in each.attributes.get("href", "") for each in page.find("a"))
    assert WrittenPitch.from_canonical("D5-50c").kept_text == "D5-50c"
