"""The page of one note: what is known, what to try, and where its takes go."""

import json
from urllib.parse import unquote

import pytest

from analysis.pitch import NoteNames
from tests.webapp.browsing import Browser, Page
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import Filled, log
from tests.webapp.pages.sending import send
from tests.webapp.tones import tone_wav
from webapp.notebook.finder import suggesting
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Working


def playable(page: Page) -> list[dict[str, str]]:
    """What can be chosen to be played, as the recorder of the page reads it."""
    return [each.attributes for each in page.find("input", name="played")]


@pytest.mark.parametrize(
    ("typed", "note"),
    [("D quarter-flat 5", "D5-50c"), ("c%235 %2B25", "C#5+25c"), ("566.2 Hz", "Eb5+3657/100c")],
)
def test_what_was_typed_leads_to_the_note(
    client: Browser, fake_finder: FakeFinder, clarinet: int, typed: str, note: str
) -> None:
    del fake_finder
    answer = client.fetch(f"/instruments/{clarinet}/notes?q={typed}")
    assert unquote(answer.location) == f"/instruments/{clarinet}/notes/{note}"
    assert client.get(answer.location).status == 200


def test_the_page_says_how_a_fraction_was_read(
    client: Browser, fake_finder: FakeFinder, clarinet: int
) -> None:
    del fake_finder
    answer = client.fetch(f"/instruments/{clarinet}/notes?q=d5-1/4")
    page = client.get(answer.location)
    assert page.find("h1")[0].text == "D quarter-flat 5"
    assert "1/4 is read as a part of a whole tone: 50 cents." in page.text
    other = client.get(f"/instruments/{clarinet}/notes/E5?typed=d5-1/4")
    assert "is read as" not in other.text


def test_a_note_that_was_touched_leads_to_it_with_its_sign(
    client: Browser, fake_finder: FakeFinder, clarinet: int
) -> None:
    del fake_finder
    answer = client.fetch(f"/instruments/{clarinet}/notes?q=D5%2B30c&q.touched=D5%2B30c~50")
    assert unquote(answer.location) == f"/instruments/{clarinet}/notes/D5+30c~50"
    assert client.get(answer.location).find("h1")[0].text == "D quarter-sharp 5, 20 cents lower"


@pytest.mark.parametrize("typed", ["", "D", "no%20note", "D-5"])
def test_what_cannot_be_read_is_asked_on_the_search_page(
    client: Browser, clarinet: int, typed: str
) -> None:
    answer = client.fetch(f"/instruments/{clarinet}/notes?q={typed}")
    assert answer.location.startswith("/search?q=")
    assert f"instrument={clarinet}" in answer.location


def test_what_is_no_note_is_refused_in_words(client: Browser, clarinet: int) -> None:
    assert client.get(f"/instruments/{clarinet}/notes/nothing").status == 422
    assert client.get("/instruments/999/notes/D5-50c").status == 404


def test_it_shows_what_is_known_what_fails_and_what_to_try(
    filled: tuple[Notebook, Filled], filled_client: Browser, fake_finder: FakeFinder
) -> None:
    del fake_finder
    rows = filled[1]
    page = filled_client.get(f"/instruments/{rows.soprano}/notes/C%235+25c")
    headings = [each.text for each in page.find("h2")]
    assert headings == ["What you have", "From others", "To try", "Beside it"]
    assert "sounds 501.1 Hz at A = 440" in page.text
    assert page.find("a", href=f"/fingerings/{rows.base}")
    played = playable(page)
    assert [("checked" in each) for each in played] == [True] + [False] * (len(played) - 1)
    assert played[0]["data-url"] == f"/fingerings/{rows.base}/takes.json"
    tried = [each for each in played if each["data-url"].endswith("/suggested-takes.json")]
    assert tried
    fields = json.loads(tried[0]["data-fields"])
    assert fields["meant"] == "C#5+25c"
    assert set(fields) == {"meant", "keys", "base", "strategy"}


def test_what_does_not_speak_stands_apart_and_is_not_played(
    notebook: Notebook, client: Browser, clarinet: int, fake_finder: FakeFinder
) -> None:
    del fake_finder
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-", does_not_speak=True)
    page = client.get(f"/instruments/{clarinet}/notes/D5-50c")
    assert [each.text for each in page.find("h2")][:2] == ["Nothing yet", "Does not speak"]
    assert all("suggested" in each["data-url"] for each in playable(page))
    assert "checked" in playable(page)[0]  # the first to try


def test_a_note_is_the_same_in_every_language(
    notebook: Notebook, client: Browser, clarinet: int, fake_finder: FakeFinder
) -> None:
    del fake_finder
    change_preferences(notebook, Writing(names=NoteNames.GERMAN))
    page = client.get(f"/instruments/{clarinet}/notes/B4-50c")  # the English B, German H
    assert "440" not in page.find("h1")[0].text
    assert page.find("h1")[0].text.startswith("H")


def test_while_a_model_is_made_the_page_says_so_and_asks_again(
    client: Browser, clarinet: int, monkeypatch: pytest.MonkeyPatch, fake_finder: FakeFinder
) -> None:
    del fake_finder
    address = f"/instruments/{clarinet}/notes/D5-50c"
    with monkeypatch.context() as patch:
        patch.setattr(suggesting, "model_of", lambda *_, **__: Working(3.0, 0.4))
        page = client.get(address)
        assert page.status == 200
        assert "Being worked out, about 40 in 100 done." in page.text
        assert client.get(f"{address}/to-try").status == 202
    part = client.get(f"{address}/to-try")
    assert part.status == 200
    assert not part.find("main")
    assert part.find("input", name="played")


def test_a_held_note_of_a_suggestion_is_measured_and_logged(
    notebook: Notebook, client: Browser, clarinet: int, fake_finder: FakeFinder
) -> None:
    del notebook, fake_finder
    page = client.get(f"/instruments/{clarinet}/notes/D5-50c")
    row = playable(page)[0]
    hz = 440 * 2 ** (250 / 1200)
    for offset_cents, logs in ((-607.0, False), (4.0, True)):
        sound = tone_wav(hz * 2 ** (offset_cents / 1200))
        answer = send(client, row["data-url"], sound, json.loads(row["data-fields"]))
        assert answer.status_code == 201
        told = answer.get_json()
        assert (told["fingering"] is not None) is logs
        assert told["figure"].endswith("cents")
    after = client.get(f"/instruments/{clarinet}/notes/D5-50c")
    assert after.find("h2")[0].text == "What you have"


def test_a_note_above_what_is_known_shows_the_nearest_known_and_what_to_try(
    client: Browser, fake_finder: FakeFinder, clarinet: int
) -> None:
    del fake_finder
    page = client.get(f"/instruments/{clarinet}/notes/C7")
    assert "G6 is the highest ordinary note here" in page.text
    assert page.find(
        "a", href=f"/instruments/{clarinet}/fingerings/new?target=C7&base=ordinary:C7:1"
    )
    assert "Above what is known" not in client.get(f"/instruments/{clarinet}/notes/D5").text


def test_a_note_below_the_range_is_said_with_the_range(client: Browser, clarinet: int) -> None:
    answer = client.fetch(f"/instruments/{clarinet}/notes?q=C3")
    assert answer.status_code == 302
    page = client.get(answer.headers["Location"])
    assert page.status == 422
    assert "which is written E3 to G6" in page.text
