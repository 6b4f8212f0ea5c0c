"""Pages about instruments: each works, each refusal, stale edits."""

import pytest

from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import Filled, add_clarinet, clarinet, log
from webapp.notebook.instruments.instruments import (
    change_instrument,
    list_instruments,
    open_instrument,
)
from webapp.notebook.instruments.layouts import add_layout, propose_layout
from webapp.notebook.store.notebook import Notebook

WAYS = (
    "fingerings/new",
    "range",
    "chart",
    "practice",
    "recordings",
    "edit",
    "next",
    "tries",
    "plan",
    "first-day",
    "key-effects",
    "predictions",
)


def error_at(page: Page, field: str) -> str:
    """What stands beside a field."""
    (error,) = page.find("p", id=f"{field}-error")
    return error.text


def test_an_instrument_is_added_and_shown(notebook: Notebook, client: Browser) -> None:
    page = client.submit(
        "/instruments/new", name="My B-flat", tuning_a_hz="442,5", reed="3", notes="two\nlines"
    )
    assert page.status == 200
    assert page.find("h1")[0].text == "At the stand"  # the first one begins with its first list
    assert len(page.find("li", class_="stand-item")) > 8
    assert "in the notebook" in page.text
    second = client.submit("/instruments/new", name="My A")
    assert second.find("h1")[0].text == "My A"
    instrument = open_instrument(notebook, 1)
    assert (instrument.tuning_a_hz, instrument.reed) == (442.5, "3")
    assert instrument.notes.splitlines() == ["two", "lines"]
    assert (instrument.kind_id, instrument.layout_id) == ("b-flat-soprano", "soprano-17-6")


@pytest.mark.parametrize(
    "step", [4, pytest.param(1, marks=pytest.mark.long_run)], ids=["one in four", "all"]
)
def test_every_kind_with_keywork_can_be_chosen(
    notebook: Notebook, client: Browser, step: int
) -> None:
    options = [
        each.attributes["value"]
        for each in client.get("/instruments/new").find("option")
        if "|" in each.attributes.get("value", "")
    ]
    assert "b-flat-bass|bass-low-c" in options
    options = options[::step]
    for number, option in enumerate(options):
        assert client.submit("/instruments/new", name=f"No {number}", model=option).status == 200
    assert len(list_instruments(notebook)) == len(options)


def test_a_choice_says_the_kind_once_and_then_the_keywork(
    notebook: Notebook, client: Browser
) -> None:
    add_layout(notebook, propose_layout(notebook, "soprano-german"))
    options = client.get("/instruments/new").find("option")
    words = {each.attributes["value"]: each.text.strip() for each in options}
    assert len(set(words.values())) == len(words)
    assert words["a-soprano|soprano-17-6"] == "A soprano · 17 keys and 6 rings"
    assert words["b-flat-bass|bass-low-eb"] == "B-flat bass · to low E flat"
    assert words["a-basset-clarinet|basset-clarinet-low-c"] == "A basset clarinet · to low C"
    assert words["b-flat-soprano|my-soprano-german"] == (
        "B-flat soprano · \u2068My Soprano, German system\u2069"
    )


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"name": ""}, "name", "a name you will recognise"),
        ({"name": "   "}, "name", "needs a name"),
        ({"name": "x" * 121}, "name", "120"),
        ({"tuning_a_hz": "high"}, "tuning_a_hz", "is not a number"),
        ({"tuning_a_hz": "480"}, "tuning_a_hz", "470"),
        ({"tuning_a_hz": "0"}, "tuning_a_hz", "390"),
        ({"tuning_a_hz": ""}, "tuning_a_hz", "such as 440"),
        ({"tuning_a_hz": "1e999"}, "tuning_a_hz", "ordinary number"),
        ({"model": "b-flat-soprano|bass-low-c"}, "model", "is not one of the choices"),
        ({"notes": "x" * 20_001}, "notes", "20,000"),
    ],
)
def test_a_refusal_stands_beside_its_field_and_typed_text_survives(
    notebook: Notebook, client: Browser, typed: dict[str, str], field: str, words: str
) -> None:
    fields = {"name": "Invented", "reed": "kept text", **typed}
    page = client.submit("/instruments/new", "", fields)
    assert page.status == 422
    assert words in error_at(page, field)
    values = page.form().values
    assert values["reed"] == "kept text"
    assert values["name"] == fields["name"]
    assert list_instruments(notebook) == ()
    assert not page.find("p", class_="traceback")


def test_an_instrument_is_changed(notebook: Notebook, client: Browser) -> None:
    instrument = add_clarinet(notebook, tuning_a_hz=442.0, notes="before")
    path = f"/instruments/{instrument}/edit"
    values = client.get(path).form().values
    assert (values["tuning_a_hz"], values["notes"]) == ("442", "before")
    assert values["model"] == "b-flat-soprano|soprano-17-6"
    page = client.submit(path, notes="after")
    assert page.status == 200
    kept = open_instrument(notebook, instrument)
    assert (kept.notes, kept.tuning_a_hz, kept.name) == ("after", 442.0, "B-flat")


def test_a_refused_change_keeps_text_and_row(notebook: Notebook, client: Browser) -> None:
    instrument = add_clarinet(notebook)
    page = client.submit(f"/instruments/{instrument}/edit", name="", notes="typed")
    assert page.status == 422
    assert page.form().values["notes"] == "typed"
    assert open_instrument(notebook, instrument).notes == ""


def test_another_keywork_is_refused_beside_its_field(notebook: Notebook, client: Browser) -> None:
    bass = add_clarinet(notebook, kind_id="b-flat-bass", layout_id="bass-low-eb")
    log(notebook, bass, "D5 -50", "T R 123 | 12-", layout_id="bass-low-eb")
    page = client.submit(f"/instruments/{bass}/edit", model="b-flat-bass|bass-low-c")
    assert page.status == 422
    assert "Another layout needs a new instrument" in error_at(page, "model")


def test_a_stale_edit_shows_both_texts_and_overwrites_nothing(
    notebook: Notebook, client: Browser
) -> None:
    instrument = add_clarinet(notebook)
    stale = client.get(f"/instruments/{instrument}/edit")
    change_instrument(notebook, instrument, clarinet("B-flat", notes="theirs"), seen_version=1)
    answer = client.send(stale, stale.form(), fields={"notes": "mine"})
    page = Page(answer)
    assert page.status == 409
    assert "theirs" in page.text
    assert page.form().values["notes"] == "mine"
    assert open_instrument(notebook, instrument).notes == "theirs"
    # Having seen both, the player decides.
    assert client.follow(client.send(page, page.form())).status == 200
    assert open_instrument(notebook, instrument).notes == "mine"


def test_a_forged_version_counts_as_stale(notebook: Notebook, client: Browser) -> None:
    instrument = add_clarinet(notebook)
    for version in ("", "abc", "-1", "99999999999999999999"):
        page = client.submit(f"/instruments/{instrument}/edit", notes="mine", version=version)
        assert page.status == 409
    assert open_instrument(notebook, instrument).notes == ""


def test_the_page_shows_set_up_coverage_and_fingerings(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/instruments/{filled[1].soprano}")
    assert "Mouthpiece: open, invented. Reed: 3" in page.text
    assert "quarter tones in tune" in page.text
    assert len(page.find("li", class_="hit")) == 5


def test_a_note_is_looked_for_right_on_the_page(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    soprano = filled[1].soprano
    form = filled_client.get(f"/instruments/{soprano}").form("/search", method="get")
    assert {form.values["q"], form.values["instrument"]} == {"", str(soprano)}
    assert {"q.letter", "q.octave", "q.sign", "q.cents"} <= set(form.values)


def test_what_is_wanted_now_and_then_is_folded_away_and_nothing_is_lost(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    soprano = filled[1].soprano
    page = filled_client.get(f"/instruments/{soprano}")
    assert len(page.find("a", class_="button")) <= 5
    assert not any("open" in each.attributes for each in page.find("details"))
    ways = {each.attributes["href"] for each in page.find("a")}
    assert {f"/instruments/{soprano}/{way}" for way in WAYS} <= ways


def test_an_empty_instrument_says_how_to_begin(notebook: Notebook, client: Browser) -> None:
    page = client.get(f"/instruments/{add_clarinet(notebook)}")
    assert "None yet" in page.text
    assert page.find("a", href="/instruments/1/fingerings/new")
    assert (
        "open"
        in next(
            each for each in page.find("details") if "data-note-entry" not in each.attributes
        ).attributes
    ), "what to try is in sight"


def test_what_the_right_thumb_does_is_chosen_in_plain_words(
    notebook: Notebook, client: Browser
) -> None:
    add_clarinet(notebook, "B-flat")
    assert "right thumb" not in client.get("/instruments/1/edit").text, "it presses no key there"
    page = client.submit(
        "/instruments/new",
        name="Low one",
        model="b-flat-bass|bass-low-c",
        right_thumb="carries",
    )
    assert page.status == 200
    number = log(notebook, 2, "C3", "T 123 | 123 | thumb low C", layout_id="bass-low-c")
    edit = client.get("/instruments/2/edit")
    assert edit.form().values["right_thumb"] == "carries"
    for words in (
        "What the right thumb does",
        "as is usual for the keywork: it is free (peg, strap or stand) and works every key",
        "it carries the instrument and presses no key",
    ):
        assert words in edit.text
    assert "your right thumb carries the instrument" in client.get(f"/fingerings/{number}").text
    shown = client.get("/instruments/2").text
    assert "The right thumb carries the instrument and presses no key." in shown
    assert "right thumb" not in client.get("/instruments/1").text
    client.submit("/instruments/2/edit", right_thumb="own-keys")
    assert open_instrument(notebook, 2).right_thumb == "own-keys"
    assert "your right thumb" not in client.get(f"/fingerings/{number}").text


def test_a_thumb_that_the_keywork_does_not_ask_for_is_refused_beside_its_field(
    client: Browser,
) -> None:
    page = client.submit("/instruments/new", name="My B-flat", right_thumb="free")
    assert page.status == 422
    assert "reaches no key" in error_at(page, "right_thumb")
    assert all("open" in each.attributes for each in page.find("details"))


def test_a_new_instrument_asks_three_things_and_folds_the_rest(client: Browser) -> None:
    (more,) = client.get("/instruments/new").find("details")
    assert "open" not in more.attributes
