"""The forms of the player's word, and of a note's own tolerance."""

from collections.abc import Mapping
from dataclasses import replace

import pytest
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import TakeMaker, log
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Role
from webapp.notebook.targets.choices import REASON_CHARACTERS, WordDraft, say_word

SEARCH = "/search?q=D5+-50&instrument=1"
ENTRY, WORD, TOLERANCE = "/fingerings/1", "/fingerings/1/word", "/instruments/1/tolerance"


def post(client: Browser, path: str, fields: Mapping[str, str]) -> TestResponse:
    """Send fields to an address, with the token of another page."""
    page = client.get("/instruments/new")
    form = page.form()
    values = {"csrf_token": form.values["csrf_token"], **fields}
    return client.send(page, replace(form, action=path, values=MultiDict(values)))


def test_a_word_said_in_a_search_comes_back_to_the_search(
    notebook: Notebook, client: Browser, clarinet: int, fingering: int
) -> None:
    other = log(notebook, clarinet, "D5 -50", "T R 123 | 1--")
    page = client.get(SEARCH)
    form = page.form(f"/fingerings/{other}/word")
    assert form.values["target"] == "D5-50c"
    answer = client.send(page, form, fields={"role": "mine"})
    assert answer.status_code == 302
    page = client.follow(answer)
    assert "This one is yours now." in page.text
    assert "First: your choice." in page.text
    links = [each.attributes["href"] for each in page.find("a")]
    first, second = (f"/fingerings/{number}" for number in (other, fingering))
    assert links.index(first) < links.index(second)


def test_a_word_said_on_the_page_of_a_fingering_stands_there(
    client: Browser, fingering: int
) -> None:
    del fingering
    page = client.get(ENTRY)
    rejected = {"role": "rejected", "reason": "shrill", "to": "entry"}
    answer = client.send(page, page.form("/word"), fields=rejected)
    assert answer.location == ENTRY
    page = client.follow(answer)
    assert "Rejected: it ranks last from now on." in page.text
    assert "rejected: shrill" in page.text
    taken_back = client.send(page, page.form("/word"), fields={"role": "", "to": "entry"})
    page = client.follow(taken_back)
    assert "Taken back." in page.text
    assert "rejected: shrill" not in page.text


def test_without_a_note_it_is_the_note_that_it_was_logged_for(
    client: Browser, fingering: int
) -> None:
    del fingering
    answer = post(client, WORD, {"role": "alternate", "reason": "brighter"})
    assert (answer.status_code, answer.location) == (302, ENTRY)
    page = client.get(ENTRY)
    assert "alternate: brighter" in page.text
    assert "Change your word" in page.text


def test_a_note_may_be_written_in_any_way_and_is_shown_on_its_page(
    client: Browser, fingering: int
) -> None:
    del fingering
    answer = post(client, WORD, {"role": "mine", "target": "E flat 5", "circumstance": "soft"})
    assert answer.status_code == 302
    assert "your choice for soft notes" in client.follow(answer).text
    assert "For E flat 5: your choice for soft notes." in client.get(ENTRY).text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"role": "favourite"}, "is not one of the choices"),
        ({"role": "mine", "circumstance": "sometimes"}, "is not one of the choices"),
        ({"role": "mine", "target": "nonsense"}, "nonsense"),
        ({"role": "mine", "target": "x" * 121}, "120"),
        ({"role": "rejected", "reason": "x" * (REASON_CHARACTERS + 1)}, "500"),
    ],
)
def test_a_word_that_cannot_be_kept_is_refused_and_says_why(
    client: Browser, fingering: int, fields: dict[str, str], words: str
) -> None:
    del fingering
    answer = post(client, WORD, fields)
    assert answer.status_code == 422
    assert words in answer.get_data(as_text=True)
    assert "Change your word" not in client.get(ENTRY).text


@pytest.mark.parametrize(
    ("cents", "words"),
    [("0", "from 1 to 50"), ("51", "from 1 to 50"), ("wide", "is not a number")],
)
def test_a_tolerance_that_cannot_be_kept_is_refused_and_says_why(
    client: Browser, clarinet: int, cents: str, words: str
) -> None:
    del clarinet
    answer = post(client, TOLERANCE, {"target": "D5-50c", "tolerance_cents": cents})
    assert answer.status_code == 422
    assert words in answer.get_data(as_text=True)
    assert "In tune within 10 cents" in client.get(SEARCH).text


def test_a_note_for_a_tolerance_must_be_read(client: Browser, clarinet: int) -> None:
    del clarinet
    for target in ("", "nonsense", "D"):
        answer = post(client, TOLERANCE, {"target": target, "tolerance_cents": "5"})
        assert answer.status_code == 422


def test_a_note_gets_a_tolerance_of_its_own_and_gives_it_back(
    notebook: Notebook, client: Browser, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    del clarinet
    take_maker(notebook, fingering, 440 * 2 ** ((250 + 8) / 1200))
    page = client.get(SEARCH)
    assert "First: the only one in tune." in page.text
    fields = {"tolerance_cents": "5"}
    page = client.follow(client.send(page, page.form("/tolerance"), fields=fields))
    assert "In tune within 5 cents" in page.text
    assert "First: near: 8 cents sharp" in page.text
    fields = {"tolerance_cents": ""}
    page = client.follow(client.send(page, page.form("/tolerance"), fields=fields))
    assert "In tune within 10 cents" in page.text
    change_preferences(notebook, Writing(tolerance_cents=6.0))
    assert "In tune within 6 cents" in client.get(SEARCH).text


@pytest.mark.parametrize("number", [2, 99, 10**30])
def test_what_is_not_there_is_not_found(
    notebook: Notebook, client: Browser, clarinet: int, fingering: int, number: int
) -> None:
    del fingering
    put_in_bin(notebook, "fingering", log(notebook, clarinet, "D5", "T R 123 | 1--"))
    fields = {"role": "mine", "target": "D5-50c"}
    assert post(client, f"/fingerings/{number}/word", fields).status_code == 404
    fields = {"target": "D5-50c", "tolerance_cents": "5"}
    assert post(client, f"/instruments/{number}/tolerance", fields).status_code == 404


@pytest.mark.parametrize("path", [WORD, TOLERANCE])
def test_a_word_is_only_posted(client: Browser, fingering: int, path: str) -> None:
    del fingering
    for method in ("GET", "PUT", "DELETE"):
        assert client.open(path, method=method).status_code == 405


def test_what_has_become_of_a_choice_is_said_even_where_nothing_serves(
    notebook: Notebook, client: Browser, fingering: int, take_maker: TakeMaker
) -> None:
    say_word(notebook, fingering, WordDraft(Role.MINE))
    take_maker(notebook, fingering, 440 * 2 ** ((250 - 60) / 1200))
    page = client.get(SEARCH)
    remark = "Your choice sounds C sharp 5 −10, so it no longer comes first."
    assert remark in page.text
    assert "Logged for it, sounds elsewhere" in page.text
    assert remark in client.get(ENTRY).text


def test_a_filter_leaves_the_players_own(
    notebook: Notebook, client: Browser, clarinet: int, fingering: int
) -> None:
    log(notebook, clarinet, "D5 -50", "T R 123 | 1--")
    say_word(notebook, fingering, WordDraft(Role.MINE))
    assert "2 fingerings within" in client.get(SEARCH).text
    assert "1 fingering within" in client.get(f"{SEARCH}&mine=y").text
    assert "your choice" in client.get("/instruments/1/range?mine=y").text
