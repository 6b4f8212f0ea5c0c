"""Fingerings typed as text on the log page, with and without scripts."""

from urllib.parse import urlencode

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser, Page
from tests.webapp.logging_rows import Filled, add_clarinet
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.instruments.instrument_keys import change_keys
from webapp.notebook.store.notebook import Notebook

NEW = "/instruments/1/fingerings/new"


@pytest.fixture(autouse=True)
def clarinet(notebook: Notebook) -> int:
    return add_clarinet(notebook)


def kept_keys(notebook: Notebook) -> str:
    return open_fingering(notebook, 1).fingering.keys_text


def shown(page: Page) -> tuple[str, str]:
    values = page.form().values
    return values["keys_text"], values["keys_text_was"]


def test_read_it_sets_the_keys_and_keeps_nothing(client: Browser) -> None:
    page = client.submit(NEW, "", {"action": "read-keys", "keys_text": "t r 123, 1, low e"})
    assert page.status == 200
    assert shown(page) == ("T R 123 | 1-- | right E",) * 2
    values = page.form().values
    assert values["key-right-e"] == "down" and values["key-l1"] == "down"
    assert client.get("/fingerings/1").status == 404


def test_typed_keys_are_kept_without_pressing_read(notebook: Notebook, client: Browser) -> None:
    page = client.submit(NEW, "", {"target": "B4", "keys_text": "T R (1)23 | 123"})
    assert page.status == 200
    assert kept_keys(notebook) == "T R (1)23 | 123"


def test_the_list_of_keys_counts_where_the_text_was_left_alone(
    notebook: Notebook, client: Browser
) -> None:
    client.submit(NEW, "", {"target": "B4", "key-l1": "down"})
    assert kept_keys(notebook) == "1-- | ---"


def test_a_form_without_the_text_works_as_before(notebook: Notebook, client: Browser) -> None:
    client.submit(
        NEW, "", {"target": "B4", "key-l1": "down"}, without=["keys_text", "keys_text_was"]
    )
    assert kept_keys(notebook) == "1-- | ---"


@pytest.mark.parametrize("action", ["keep", "read-keys"])
def test_an_error_points_at_the_character(notebook: Notebook, client: Browser, action: str) -> None:
    typed = "T R 12x | 1--"
    page = client.submit(NEW, "", {"target": "B4", "keys_text": typed, "action": action})
    assert page.status == (422 if action == "keep" else 200)
    problem = page.find("div", id="keys-typed-problem")[0].text
    assert "At character 7" in problem
    assert page.find("pre", class_="pointer")[0].text == f"{typed}\n      ^"
    assert page.form().values["keys_text"] == typed
    assert page.form().values["target"] == "B4"
    assert client.get("/fingerings/1").status == 404


def test_text_and_list_that_say_different_things_are_not_guessed_at(
    notebook: Notebook, client: Browser
) -> None:
    both = {"target": "B4", "keys_text": "T 123 | 123", "key-side-1": "down"}
    page = client.submit(NEW, "", both)
    assert page.status == 422
    assert "say different things" in page.text
    assert page.form().values["keys_text"] == "T 123 | 123"
    read = client.submit(NEW, "", {**both, "action": "read-keys"})
    assert shown(read)[0] == "T 123 | 123"
    agreeing = {"target": "B4", "keys_text": "1, ---", "key-l1": "down"}
    assert client.submit(NEW, "", agreeing).status == 200
    assert kept_keys(notebook) == "1-- | ---"


def test_hostile_text_stays_text(client: Browser) -> None:
    page = client.submit(NEW, "", {"keys_text": "<b>T</b>\x00", "action": "read-keys"})
    assert page.status == 200
    assert "<b>T" not in page.html


def test_impossible_keys_are_refused_with_the_reason(client: Browser) -> None:
    page = client.submit(NEW, "", {"target": "B4", "keys_text": "1-- | --- | throat A"})
    assert page.status == 422
    assert "can't hold" in page.text
    assert "two hands can’t hold it" in page.text


def test_awkward_ones_are_flagged_and_kept(notebook: Notebook, client: Browser) -> None:
    text = "T R (1)23 | 123 | left F#, right E"
    page = client.submit(NEW, "", {"target": "B4", "keys_text": text})
    assert page.status == 200
    (flag,) = [each for each in page.find("strong") if each.text == "awkward"]
    assert flag and "half-hole (left first finger)" in page.text
    assert kept_keys(notebook) == text


def test_an_edit_can_be_typed(filled: tuple[Notebook, Filled], filled_client: Browser) -> None:
    notebook, rows = filled
    path = f"/fingerings/{rows.base}/edit"
    assert shown(filled_client.get(path))[0] == "T R 123 | 123 | right F#"
    filled_client.submit(path, "", {"keys_text": "T R 123 | 123 | left F#"})
    assert open_fingering(notebook, rows.base).fingering.keys_text == "T R 123 | 123 | left F#"


def test_the_way_from_the_base_is_said(client: Browser) -> None:
    page = client.get(f"{NEW}?base=ordinary:C%235:1")
    assert "nothing moves" in page.text
    page = client.submit(
        f"{NEW}?base=ordinary:C%235:1",
        "",
        {"action": "read-keys", "keys_text": "T R 123 | 123 | right F#"},
    )
    assert "lifts: left little finger; presses: right little finger" in page.text


# --- what the script asks


def ask(client: Browser, query: dict[str, str], instrument: int = 1) -> dict[str, object]:
    answer = client.fetch(f"/instruments/{instrument}/keys?{urlencode(query)}")
    assert answer.status_code == 200
    assert answer.mimetype == "application/json"
    found: dict[str, object] = answer.get_json()
    return found


def test_the_script_learns_states_words_ease_and_way(client: Browser) -> None:
    found = ask(client, {"text": "t r (1)23, 123, left f#", "base": "ordinary:C#5:1"})
    assert found["text"] == "T R (1)23 | 123 | left F#"
    letters = str(found["letters"])
    assert letters.count("s") == 1 and letters.count("d") == 8
    assert "half-hole" in str(found["ease"])
    assert found["way"] == "rolls: left first finger (effort 2; one plain finger is 1)"


def test_the_script_learns_where_a_fault_is(client: Browser) -> None:
    found = ask(client, {"text": "T R 123 | 123 | spoon"})
    assert "spoon" in str(found["pointer"])
    assert str(found["pointer"]).splitlines()[1].index("^") == 16
    assert "character 17" in str(found["problem"])
    assert ask(client, {}).keys() == {"problem", "pointer"}


def test_a_base_that_is_gone_says_nothing(client: Browser) -> None:
    assert ask(client, {"text": "T", "base": "logged:99"})["way"] == ""


def test_own_names_are_understood(notebook: Notebook, client: Browser) -> None:
    change_keys(
        notebook, 1, without=frozenset({"left-ab"}), names={"right-e": "pinky"}, seen_version=1
    )
    assert ask(client, {"text": "T 123 | 123 | pinky"})["text"] == "T 123 | 123 | right E"


def test_not_found_and_wrong_method(client: Browser) -> None:
    assert client.get("/instruments/99/keys?text=T").status == 404
    assert client.open("/instruments/1/keys", SAME_ORIGIN, method="PUT").status_code in (400, 405)


def test_a_link_to_the_page_may_give_the_keys(client: Browser) -> None:
    page = client.get(f"{NEW}?{urlencode({'target': 'E5', 'keys': 'T R 123 | 12- | right E'})}")
    assert page.status == 200
    assert shown(page) == ("T R 123 | 12- | right E",) * 2


def test_keys_in_a_link_that_cannot_be_read_are_shown_as_they_stand(client: Browser) -> None:
    page = client.get(f"{NEW}?target=E5&keys=spoon")
    assert page.status == 200
    assert page.form().values["keys_text"] == "spoon"
    assert "'spoon' is no key" in page.text
