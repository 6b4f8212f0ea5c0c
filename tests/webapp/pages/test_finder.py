"""The pages of the finder: each works, each refusal, and predictions look like predictions."""

import pytest

from tests.webapp.browsing import Browser, Page
from tests.webapp.finder_fakes import FakeFinder, cross_effect
from tests.webapp.logging_rows import Filled, add_clarinet
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache

ASKED = "/instruments/1/next?q=F5-50c"
LOW_E_ON_E5 = "T R 123 | 12- | right E"
PAGES = ("next", "tries", "predictions", "first-day", "key-effects", "plan")


@pytest.fixture
def page(notebook: Notebook, client: Browser, fake_finder: FakeFinder) -> Page:
    """The suggestions for a note, as the fake makes them."""
    del fake_finder
    add_clarinet(notebook)
    return client.get(ASKED)


def test_each_suggestion_says_all_that_is_known_of_it(page: Page) -> None:
    assert page.status == 200
    cards = page.find("details", class_="suggestion")
    assert len(cards) == 2
    text = " ".join(cards[0].text.split())
    for words in (
        "+ right F♯",
        "adds right F sharp key",
        "−7 ± 12 cents, predicted",
        "E5 (T R 123 | 12-)",
        "raised from the lower neighbour",
        "4 in 10",
        "To land within 10 cents: less likely than not, with the lip",
        "It comes first, says the fake.",
        "Easy.",
    ):
        assert words in text
    assert "2 worth trying, says the fake." in page.text


def test_predictions_are_drawn_dashed_and_said_to_be_predictions(page: Page) -> None:
    assert len(page.find("svg", class_="offset")) == 2
    assert len(page.find("circle", class_="predicted")) == 2
    assert len(page.find("span", class_="predicted-word")) == 2
    assert "From a model of the tube alone." in page.text
    assert page.find("span", class_="number") == []


def test_nothing_within_reach_offers_the_least_bad_and_says_so(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    fake_finder.is_within_reach = False
    add_clarinet(notebook)
    assert "Closest found, out of reach" in client.get(ASKED).text


def test_wishes_are_read_from_the_address_and_stay_in_the_form(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    add_clarinet(notebook)
    page = client.get(f"{ASKED}&changes=2&halves=y&free=left-e&free=left-f&down=thumb&colour=above")
    (wishes,) = fake_finder.asked
    assert (wishes.most_changes, wishes.has_half_holes) == (2, True)
    assert (wishes.must_be_free, wishes.must_be_down) == (
        frozenset({"left-e", "left-f"}),
        frozenset({"thumb"}),
    )
    assert wishes.prefers_colour_of is not None
    values = page.form("", method="get").values
    assert values.getlist("free") == ["left-e", "left-f"]
    assert (values["changes"], values["colour"]) == ("2", "above")


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        ("q=nonsense", "q", "nonsense"),
        ("q=D", "q", "Which is meant"),
        ("q=" + "D" * 130, "q", "120"),
        ("q=D5&changes=9", "changes", "is not one of the choices"),
        ("q=D5&free=no-such-key", "free", "has no key “no-such-key”"),
        ("q=D5&free=thumb&down=thumb", "down", "cannot stay free and be held"),
    ],
)
def test_what_cannot_be_asked_stands_beside_its_field(
    notebook: Notebook,
    client: Browser,
    fake_finder: FakeFinder,
    query: str,
    field: str,
    words: str,
) -> None:
    add_clarinet(notebook)
    page = client.get(f"/instruments/1/next?{query}")
    assert page.status == 422
    (error,) = page.find("p", id=f"{field}-error")
    assert words in error.text
    assert fake_finder.asked == []


def test_while_it_is_computed_the_page_says_so_and_comes_back_by_itself(
    notebook: Notebook,
    client: Browser,
    fake_finder: FakeFinder,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    del fake_finder
    add_clarinet(notebook)
    with monkeypatch.context() as patched:
        patched.setattr(ResultCache, "_do", lambda *_: None)  # nobody ever does the work
        patched.setattr("webapp.notebook.store.result_cache.threading.Event.wait", lambda *_: False)
        for path in (ASKED, "/instruments/1/plan?grid=24&low=C5&high=E5"):
            page = client.get(path)
            assert page.status == 200
            assert "Being worked out" in page.text
            assert page.response.headers["Refresh"] == "3"
            assert page.find("a", href=path)


def test_an_instrument_of_which_nothing_is_known_says_so(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    fake_finder.is_unavailable = True
    add_clarinet(notebook)
    for path in (ASKED, "/instruments/1/plan?grid=24&low=C5&high=E5"):
        page = client.get(path)
        assert page.status == 200
        assert "Nothing is known of this tube, says the fake." in page.text
        assert "Refresh" not in page.response.headers


def test_a_search_with_nothing_yet_leads_straight_to_suggestions(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    del fake_finder
    add_clarinet(notebook)
    search = "/search?q=F5-50c&instrument=1"
    page = client.get(search)
    (link,) = page.find("a", href=ASKED)
    assert "primary" in link.attributes["class"]
    client.get(ASKED)
    page = client.get(search)  # the model is there now, so that nothing has to be waited for
    assert len(page.find("details", class_="suggestion")) == 2
    assert page.find("li", class_="hit") == []


def test_a_search_with_hits_leads_there_too_and_mixes_nothing(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/search?q=C%235+%2B25&instrument={filled[1].soprano}")
    assert page.find("a", href=f"/instruments/{filled[1].soprano}/next?q=C%235%2B25c")
    assert page.find("details", class_="suggestion") == []
    assert "predicted" not in page.text


@pytest.mark.parametrize("name", PAGES)
def test_every_page_is_there_for_a_new_instrument(
    notebook: Notebook, client: Browser, name: str
) -> None:
    add_clarinet(notebook)
    page = client.get(f"/instruments/1/{name}")
    assert page.status == 200
    assert page.find("nav", class_="tabs")
    assert all(page.find("a", href=f"/instruments/1/{each}") for each in PAGES)
    here = [each.attributes["href"] for each in page.find("a", **{"aria-current": "page"})]
    assert here == [f"/instruments/1/{name}"]


@pytest.mark.parametrize("name", PAGES)
def test_no_page_is_there_for_an_instrument_that_is_not(client: Browser, name: str) -> None:
    assert client.get(f"/instruments/99/{name}").status == 404


@pytest.mark.parametrize("name", [each for each in PAGES if each != "tries"])
def test_what_is_only_shown_cannot_be_sent(client: Browser, name: str) -> None:
    answer = client.open(
        f"/instruments/1/{name}",
        {"Origin": "http://127.0.0.1:8765", "Sec-Fetch-Site": "same-origin"},
        method="POST",
    )
    assert answer.status_code in (400, 405)


def test_key_effects_are_listed(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    fake_finder.effects = (cross_effect(),)
    add_clarinet(notebook)
    page = client.get("/instruments/1/key-effects")
    assert [each.text for each in page.find("th", scope="row")] == ["right cross key"]
    assert [each.text for each in page.find("td")] == ["clarion", "+38 to +55", "6"]


def test_a_plan_shows_its_state_and_its_tries(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    del fake_finder
    add_clarinet(notebook)
    page = client.get("/instruments/1/plan?grid=24&low=E5&high=G5")
    assert "Of 3 steps between the semitones, 0 are solved" in page.text
    assert "1 are only predicted, and 2 are open" in page.text
    assert len(page.find("span", class_="is-predicted")) == 1
    (card,) = page.find("details", class_="suggestion")
    assert "−7 ± 12 cents, predicted" in " ".join(card.text.split())


@pytest.mark.parametrize(
    ("query", "field"),
    [("grid=7", "grid"), ("grid=24&low=nonsense", "low"), ("grid=24&low=F5&high=C5", "high")],
)
def test_a_plan_that_cannot_be_made_is_refused(
    notebook: Notebook, client: Browser, query: str, field: str
) -> None:
    add_clarinet(notebook)
    page = client.get(f"/instruments/1/plan?{query}")
    assert page.status == 422
    assert page.find("p", id=f"{field}-error")


@pytest.mark.parametrize(
    ("place", "target", "base", "keys_text"),
    # common practice, from memory: G3, and low E on E5 for a quarter tone below it
    [(0, "G3", "ordinary:G3:1", "T 123 | 123"), (6, "E5", "ordinary:E5:1", LOW_E_ON_E5)],
)
def test_the_first_day_leads_to_a_log_page_that_is_filled_in(
    notebook: Notebook, client: Browser, place: int, target: str, base: str, keys_text: str
) -> None:
    add_clarinet(notebook)
    page = client.get("/instruments/1/first-day")
    links = [each.attributes["href"] for each in page.find("a")]
    link = [link for link in links if "/fingerings/new?" in link][place]
    values = client.get(link).form().values
    assert values["target"].startswith(target)
    assert values["base"] == base
    assert values["keys_text"] == keys_text


def test_a_cross_fingering_of_the_first_day_says_what_it_adds(
    notebook: Notebook, client: Browser
) -> None:
    add_clarinet(notebook)
    text = " ".join(client.get("/instruments/1/first-day").text.split())
    assert "An ordinary fingering with one key more." in text
    assert "From E5: + right E" in text


def test_an_ordinary_note_is_kept_at_once_and_leads_back_to_the_others(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    del fake_finder  # only has to be there
    add_clarinet(notebook)
    log_page = "/instruments/1/fingerings/new?target=F3&base=ordinary:F3:1"
    entry = client.submit(log_page, action="keep")
    assert entry.find("a", href="/instruments/1/first-day")


def test_the_notes_beside_it_are_named_and_the_ways_described(
    notebook: Notebook, client: Browser, monkeypatch: pytest.MonkeyPatch, fake_finder: FakeFinder
) -> None:
    del fake_finder
    monkeypatch.setattr("analysis.planning.motion_table_of", lambda tube: tube)
    add_clarinet(notebook)
    page = client.get(f"{ASKED}&before=E5&after=G5")
    text = " ".join(page.text.split())
    assert "From E5 on to G5: what the hands reach more easily gains." in text
    assert "From E5: presses: right little finger (effort 1; one plain finger is 1)." in text
    assert "On to G5: lifts: right first finger, right second finger, right little finger" in text
    refused = client.get(f"{ASKED}&before=E5-50c")
    assert refused.status == 422
    assert "No fingering is known for E quarter-flat 5 yet" in refused.text
