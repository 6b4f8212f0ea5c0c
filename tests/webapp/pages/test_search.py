"""The search page."""

import pytest

from analysis.pitch import NoteNames
from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled, add_clarinet, log
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.notebook import Notebook

KEYS = "T R 123 | 12-"


def test_a_target_is_found_with_its_distance(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/search?q=C%235+%2B30&instrument={rows.soprano}")
    assert page.status == 200
    hrefs = [each.attributes["href"] for each in page.find("a")]
    assert hrefs.index(f"/fingerings/{rows.base}") < hrefs.index(f"/fingerings/{rows.child}")
    assert "+5.0 cents from what you asked for" in page.text  # measured 10 above C#5 +25
    assert "3 fingerings within 25 cents" in page.text


def test_nothing_yet_shows_the_nearest_and_what_could_be_changed(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/search?q=F5+-50&instrument={rows.soprano}&within=10")
    assert "Nothing yet within 10 cents, and nothing near" in page.text
    assert "Nearest" not in page.text
    near = filled_client.get(f"/search?q=C5&instrument={rows.soprano}&within=10")
    assert "Nothing yet within 10 cents." in near.text
    assert "Nearest above" in near.text
    raise_it = page.find(
        "a", href=f"/instruments/{rows.soprano}/fingerings/new?target=F5-50c&base=ordinary:E5:1"
    )
    assert len(raise_it) == 1
    assert filled_client.get(raise_it[0].attributes["href"]).form().values["strategy"] == "raised"


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        ("q=nonsense", "q", "nonsense"),
        ("q=D", "q", "There is no octave number. Which is meant?"),
        ("q=" + "D" * 200, "q", "120"),
        ("q=D5&within=wide", "within", "is not a number"),
        ("q=D5&within=0", "within", "more than 0"),
        ("q=D5&within=500", "within", "up to 200"),
        ("q=D5&strategy=magic", "strategy", "is not one of the choices"),
        ("q=D5&register=basement", "register", "is not one of the choices"),
        ("q=D5&resistance=9", "resistance", "is not one of the choices"),
    ],
)
def test_what_cannot_be_read_stands_beside_its_field_and_is_no_empty_result(
    notebook: Notebook, client: Browser, query: str, field: str, words: str
) -> None:
    log(notebook, add_clarinet(notebook), "D5 -50", KEYS)
    page = client.get(f"/search?{query}&instrument=1")
    assert page.status == 422
    (error,) = page.find("p", id=f"{field}-error")
    assert words in error.text
    assert "Nothing" not in page.text
    assert (
        page.find("input", id="q")[0].attributes["value"]
        == query.partition("q=")[2].partition("&")[0]
    )


def test_the_only_instrument_is_chosen_by_itself(notebook: Notebook, client: Browser) -> None:
    log(notebook, add_clarinet(notebook), "D5 -50", KEYS)
    page = client.get("/search?q=D5+-50")
    assert "Written for B-flat" in page.text
    assert "1 fingering within 25 cents" in page.text


def test_every_instrument_is_searched_by_sounding_pitch(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get("/search?q=B4+%2B35&instrument=")
    assert "As it sounds, on every instrument" in page.text
    assert "Invented B-flat" in page.text


def test_the_form_keeps_every_choice(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    query = {
        "q": "C#5", "instrument": str(filled[1].soprano), "within": "40", "strategy": "raised",
        "resistance": "3", "register": "clarion", "whole": "y", "measured": "y",
        "mine": "y",
    }  # fmt: skip
    address = "&".join(f"{name}={value.replace('#', '%23')}" for name, value in query.items())
    page = filled_client.get(f"/search?{address}")
    assert page.status == 200
    # beside them: the note that was found, and a note put together from fields, which is not
    beside = {"near": "C#5", "q.letter": "", "q.octave": "5", "q.sign": "0", "q.cents": ""}
    assert dict(page.form(method="get").values) == query | beside


def test_german_names_are_read_and_written(notebook: Notebook, client: Browser) -> None:
    change_preferences(notebook, Writing(names=NoteNames.GERMAN))
    log(notebook, add_clarinet(notebook), "Bb4", KEYS)
    page = client.get("/search?q=B4&instrument=1")
    assert "1 fingering within 25 cents" in page.text
    assert page.find("h2", id="found")[0].text.startswith("B")
    assert "Nothing yet" in client.get("/search?q=H4&instrument=1").text


def test_where_there_is_nothing_to_find_the_way_to_the_first_entry_is_shown(
    notebook: Notebook, client: Browser
) -> None:
    assert client.get("/search").find("a", href="/instruments/new", class_="primary")
    first, second = add_clarinet(notebook), add_clarinet(notebook, "another")
    ways = [f"/instruments/{each}/fingerings/new" for each in (first, second)]
    assert all(client.get("/search").find("a", href=way) for way in ways)
    page = client.get(f"/search?instrument={second}")
    assert [bool(page.find("a", href=way)) for way in ways] == [False, True]


def test_a_just_interval_is_named_to_a_tenth_and_asked_for_exactly(
    notebook: Notebook, client: Browser
) -> None:
    # 1200 * log2(5/4) = 386.314 cents: 13.686 below the third of equal temperament
    add_clarinet(notebook)
    page = client.get("/search?q=a+just+major+third+above+F4&instrument=1")
    assert "A4, 13.7 cents lower" in page.text
    assert "13.686" not in page.text
    ways = [each.attributes["href"] for each in page.find("a", class_="button")]
    assert any("A4-6843" in each for each in ways)


def test_filters_that_leave_nothing_say_so(notebook: Notebook, client: Browser) -> None:
    log(notebook, add_clarinet(notebook), "D5 -50", KEYS)
    assert "passes these filters" in client.get("/search?instrument=1&measured=y").text


def test_a_long_list_is_turned_over_and_back(notebook: Notebook, client: Browser) -> None:
    soprano = add_clarinet(notebook)
    for _ in range(25):
        log(notebook, soprano, "D5 -50", KEYS)
    first = "/search?q=D5&within=60&instrument=1"
    page = client.get(first)
    assert "25 fingerings within 60 cents; here 1 to 10." in page.text
    seen = []
    for shown in ("11 to 20", "21 to 25"):
        (way,) = (each for each in page.find("a") if each.text == "Show the next ones")
        seen.append(way.attributes["href"])
        page = client.get(seen[-1])
        assert f"here {shown}." in page.text
    assert not any(each.text == "Show the next ones" for each in page.find("a"))
    (way,) = (each for each in page.find("a") if each.text == "Show the ones before")
    assert way.attributes["href"] == seen[0]


def test_a_refusal_shows_the_notes_it_quotes_by_their_signs(
    notebook: Notebook, client: Browser
) -> None:
    add_clarinet(notebook)
    page = client.get("/search?q=D3-50c&instrument=1")
    (error,) = page.find("p", id="q-error")
    assert "D quarter-flat 3 lies below the range" in error.text
    assert "which is written E3 to G6." in error.text
    assert 'class="sign">\ue280<' in page.html


def test_what_may_have_been_meant_is_offered_by_its_sign(
    notebook: Notebook, client: Browser
) -> None:
    add_clarinet(notebook)
    page = client.get("/search?q=D5+1/4&instrument=1")
    (error,) = page.find("p", id="q-error")
    assert error.text == "There is no sign for higher or lower. Which is meant?"
    assert [each.text for each in page.find("button", name="q.choice")] == [
        "D quarter-sharp 5",
        "D quarter-flat 5",
    ]
    assert 'class="sign">\ue282<' in page.html
    (beginning,) = client.get("/search?q=D5%3F&instrument=1").find("button", name="q.choice")
    assert beginning.attributes["value"] == "D5"
