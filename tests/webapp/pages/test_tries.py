"""The try list: take up, try, keep, dismiss; each refusal."""

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser, Page
from tests.webapp.finder_fakes import OTHER, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet
from webapp.notebook.finder.tries import open_try, open_try_list
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import TryState

ASKED = "/instruments/1/next?q=F5-50c"
TRIES = "/instruments/1/tries"


@pytest.fixture(autouse=True)
def clarinet(notebook: Notebook, fake_finder: FakeFinder) -> None:
    """One instrument, with the fake for a finder."""
    del fake_finder
    add_clarinet(notebook)


def decide(client: Browser, action: str, place: int = 0, **fields: str) -> Page:
    """Press a button of a suggestion."""
    page = client.get(ASKED)
    form = [each for each in page.forms if each.action.startswith(TRIES)][place]
    return client.follow(client.send(page, form, fields={"action": action, **fields}))


def press(client: Browser, action: str, **fields: str) -> Page:
    """Press a button of the try list."""
    page = client.get(TRIES)
    return client.follow(client.send(page, page.form(action), fields=fields))


def test_try_opens_the_log_page_filled_in_and_what_is_logged_is_linked(
    notebook: Notebook, client: Browser
) -> None:
    page = decide(client, "try")
    assert page.find("h1")[0].text == "Log a fingering"
    values = page.form().values
    assert (values["target"], values["base"]) == ("F5-50c", "ordinary:E5:1")
    assert (values["keys_text"], values["strategy"]) == (RAISED_E5, "raised")
    entry = client.follow(client.send(page, page.form(), fields={"action": "keep"}))
    assert entry.find("h1")[0].text == "F quarter-flat 5"
    assert "Suggested for F quarter-flat 5: predicted −7 ± 12 cents." in entry.text
    assert "Not tried" in entry.text
    row = open_try(notebook, 1)
    assert (row.state, row.fingering_id) == (TryState.TRIED, 1)


def test_a_log_page_refused_keeps_the_link_to_the_suggestion(
    notebook: Notebook, client: Browser
) -> None:
    page = decide(client, "try")
    refused = Page(client.send(page, page.form(), fields={"action": "keep", "target": "F"}))
    assert refused.status == 422
    client.follow(
        client.send(refused, refused.form(), fields={"action": "keep", "target": "F5-50c"})
    )
    assert open_try(notebook, 1).state == TryState.TRIED


def test_a_suggestion_goes_on_the_list_and_is_tried_from_there(
    notebook: Notebook, client: Browser
) -> None:
    page = decide(client, "list")
    assert "It is on the try list." in page.text
    assert page.find("h1")[0].text.startswith("F quarter-flat 5")
    listed = client.get(TRIES)
    assert "−7 ± 12 cents, predicted" in " ".join(listed.text.split())
    assert press(client, "/tries/1/try").form().values["keys_text"] == RAISED_E5
    assert open_try_list(notebook, 1).waiting[0].id == 1


def test_dismissing_takes_it_out_of_the_suggestions_with_its_reason(
    notebook: Notebook, client: Browser
) -> None:
    page = decide(client, "dismiss", reason="awkward", reason_notes="=cmd <b>small hands</b>")
    assert "Dismissed" in page.text
    assert len(page.find("details", class_="suggestion")) == 1
    assert open_try(notebook, 1).keys_text == RAISED_E5
    listed = client.get(TRIES)
    assert "does not lie in my hands" in listed.text
    assert "<b>small" not in listed.html
    assert "It is on the try list" in press(client, "/tries/1/wait").text
    assert len(client.get(ASKED).find("details", class_="suggestion")) == 2


def test_what_was_tried_is_kept_and_compared(
    client: Browser, notebook: Notebook, take_maker: TakeMaker
) -> None:
    page = decide(client, "try", place=1)
    client.follow(client.send(page, page.form(), fields={"action": "keep"}))
    # F5-50c sounds a whole tone lower on a B-flat soprano: 550 cents above A4.
    take_maker(notebook, 1, 440 * 2 ** (547 / 1200))
    assert "Kept." in press(client, "/tries/1/keep").text
    assert open_try(notebook, 1).keys_text == OTHER
    trust = client.get("/instruments/1/predictions")
    assert "1 prediction measured." in trust.text
    (row,) = [each for each in trust.find("tr") if "quarter-flat" in each.text]
    assert "−7 ± 12" in row.text
    assert "−3.0 ±" in row.text
    assert "+4" in row.text
    assert trust.find("svg", class_="trust")


def test_a_planned_try_goes_on_the_list_and_leads_back_to_the_plan(
    notebook: Notebook, client: Browser
) -> None:
    path = "/instruments/1/plan?grid=24&low=E5&high=G5"
    page = client.get(path)
    (form,) = [each for each in page.forms if each.action.startswith(TRIES)]
    back = client.follow(client.send(page, form, fields={"action": "list"}))
    assert "It is on the try list." in back.text
    assert back.form("", method="get").values["low"] == "E5"
    assert len(open_try_list(notebook, 1).waiting) == 1


def test_after_a_button_the_wishes_are_still_there(client: Browser) -> None:
    page = client.get(f"{ASKED}&changes=2&free=left-e&free=left-f")
    form = next(each for each in page.forms if each.action.startswith(TRIES))
    back = client.follow(client.send(page, form, fields={"action": "list"}))
    values = back.form("", method="get").values
    assert (values["q"], values["changes"]) == ("F5-50c", "2")
    assert values.getlist("free") == ["left-e", "left-f"]


@pytest.mark.parametrize(
    "fields",
    [
        {"target": "nonsense"},
        {"keys": "nonsense"},
        {"strategy": "magic"},
        {"base": "ordinary:none"},
        {"keys": "x" * 500},
        {"reason": "weather"},
    ],
)
def test_a_suggestion_that_did_not_arrive_whole_is_refused(
    notebook: Notebook, client: Browser, fields: dict[str, str]
) -> None:
    assert decide(client, "dismiss", 0, **fields).status == 422
    assert open_try_list(notebook, 1).dismissed == ()


def test_what_was_not_tried_cannot_be_kept(notebook: Notebook, client: Browser) -> None:
    decide(client, "list")
    page = client.get(TRIES)
    token = page.form("/tries/1/try").values["csrf_token"]
    answer = client.client.post(
        "/tries/1/keep",
        base_url="http://127.0.0.1:8765",
        data={"csrf_token": token},
        headers=SAME_ORIGIN,
    )
    assert answer.status_code == 422
    assert open_try(notebook, 1).state == TryState.WAITING


def test_a_reason_that_is_none_is_refused(notebook: Notebook, client: Browser) -> None:
    decide(client, "list")
    assert press(client, "/tries/1/dismiss", reason="weather").status == 422
    assert open_try(notebook, 1).state == TryState.WAITING


@pytest.mark.parametrize("action", ["try", "keep", "wait", "dismiss"])
def test_a_try_that_is_not_there_and_the_wrong_method(client: Browser, action: str) -> None:
    decide(client, "list")
    token = client.get(TRIES).form("/tries/1/try").values["csrf_token"]
    answer = client.client.post(
        f"/tries/99/{action}",
        base_url="http://127.0.0.1:8765",
        data={"csrf_token": token},
        headers=SAME_ORIGIN,
    )
    assert answer.status_code == 404
    assert client.get(f"/tries/1/{action}").status == 405


def test_a_suggestion_named_in_the_address_that_is_not_there_changes_nothing(
    client: Browser,
) -> None:
    page = client.get("/instruments/1/fingerings/new?target=F5-50c&suggestion=99")
    assert page.status == 200
    assert page.form().values["target"] == "F5-50c"
