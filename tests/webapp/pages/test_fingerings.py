"""Logging and changing a fingering, without scripts, as a browser sends it."""

import pytest

from analysis.keywork import format_fingering
from analysis.pitch import NoteNames
from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import Filled, TakeMaker, add_clarinet, draft, log
from tests.webapp.snapshots import snapshot
from tests.webapp.tones import tone_wav
from webapp.guards import uploads
from webapp.notebook.fingerings.fingerings import change_fingering, open_fingering
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering

KEYS = "T R 123 | 12-"
TARGET_HZ = 440 * 2 ** (250 / 1200)  # D5 -50 on a B-flat soprano


@pytest.fixture
def new_page(notebook: Notebook) -> str:
    """The address where a fingering of a B-flat soprano is logged."""
    return f"/instruments/{add_clarinet(notebook)}/fingerings/new"


def kept(notebook: Notebook, fingering: int = 1) -> Fingering:
    """The fingering as it is stored."""
    return open_fingering(notebook, fingering).fingering


def keys_on(page: Page) -> dict[str, str]:
    """The key fields of the form as they would be sent."""
    return {
        name: value
        for name, value in page.form().values.items()
        if name.startswith("key-") and value != "up"
    }


def press_set_keys(client: Browser, page: Page, **fields: str) -> Page:
    """Press "Set the keys to it"."""
    assert ("action", "set-keys", "") in page.form().buttons
    return Page(client.send(page, page.form(), fields={**fields, "action": "set-keys"}))


def test_the_first_button_keeps_so_that_enter_in_a_text_field_does(
    client: Browser, new_page: str
) -> None:
    # HTML Standard, "implicit submission": Enter presses the first submit button of the form.
    assert client.get(new_page).form().buttons[0] == ("action", "keep", "")


def test_a_fingering_is_logged_from_its_keys(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    page = client.submit(
        new_page, "",
        {"key-thumb": "down", "key-register": "down", "key-l1": "down", "key-l2": "shaded"},
        target="D quarter-flat 5", strategy="found", resistance="4",
        resistance_notes="stuffy", notes="only soft", tags="slow, soft",
    )  # fmt: skip
    assert page.status == 200
    assert page.find("h1")[0].text == "D quarter-flat 5"
    assert "is in the notebook" in page.text
    row = kept(notebook)
    assert row.keys_text == "T R 1(2)- | ---"
    assert (row.resistance, row.resistance_notes, row.notes) == (4, "stuffy", "only soft")
    assert row.tags == ("slow", "soft")
    assert row.has_half_hole
    assert row.base_keys_text is None


def test_set_keys_takes_the_keys_of_the_base_and_keeps_what_was_typed(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    before = snapshot(notebook)
    page = press_set_keys(
        client, client.get(new_page), target="D5 -50", base="ordinary:D5:1", notes="typed",
        tags="a", resistance="2",
    )  # fmt: skip
    assert page.status == 200
    assert snapshot(notebook) == before, "nothing is kept"
    values = page.form().values
    assert (values["target"], values["notes"], values["tags"]) == ("D5 -50", "typed", "a")
    assert values["resistance"] == "2"
    assert values["base"] == "ordinary:D5:1"
    # From D5, a quarter tone above the target, the fingering is lowered.
    assert values["strategy"] == "lowered"
    assert keys_on(page)["key-thumb"] == "down"
    page = client.follow(client.send(page, page.form(), fields={"key-gs-eb": "down"}))
    assert page.status == 200
    row = kept(notebook)
    assert row.base_keys_text is not None
    assert row.base_keys_text != row.keys_text
    assert "adds" in page.text, "what changed is said in words"


def test_set_keys_without_a_base_lifts_all_keys(client: Browser, new_page: str) -> None:
    page = press_set_keys(client, client.get(new_page), base="", **{"key-l2": "down"})
    assert keys_on(page) == {}


def test_a_base_that_is_gone_costs_no_keys(client: Browser, new_page: str) -> None:
    page = press_set_keys(
        client, client.get(new_page), base="logged:77", **{"key-l2": "down", "key-thumb": "down"}
    )
    assert keys_on(page) == {"key-l2": "down", "key-thumb": "down"}


def test_the_address_can_propose_target_and_base(client: Browser, new_page: str) -> None:
    page = client.get(f"{new_page}?target=D5-50c&base=ordinary:C%235:1")
    values = page.form().values
    assert (values["target"], values["base"]) == ("D5-50c", "ordinary:C#5:1")
    assert values["strategy"] == "raised"
    assert keys_on(page)


def test_a_base_in_the_address_that_is_not_there_is_named(client: Browser, new_page: str) -> None:
    page = client.get(f"{new_page}?base=logged:77")
    assert page.status == 200
    assert "is not there on this instrument" in page.text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"target": ""}, "Say which note it is for"),
        ({"target": "D"}, "There is no octave number. Which is meant?"),
        ({"target": "nonsense"}, "nonsense"),
        ({"target": "D5" * 80}, "120"),
        ({"resistance": "9"}, "is not one of the choices"),
        ({"strategy": "magic"}, "is not one of the choices"),
        ({"base": "logged:77"}, "is not there on this instrument"),
        ({"tags": ", ".join(f"t{number}" for number in range(30))}, "30 tags"),
        ({"notes": "x" * 20_001}, "20,000"),
        ({"key-throat-a": "down", "key-l1": "down"}, "left first finger"),
        ({"air_temperature_c": "warm"}, "is not a number"),
    ],
)
def test_a_refusal_says_why_and_typed_text_and_keys_survive(
    notebook: Notebook, client: Browser, new_page: str, typed: dict[str, str], words: str
) -> None:
    fields = {
        "target": "D5 -50", "resistance_notes": "kept words", "notes": "kept notes",
        "dynamic": "pp", "key-l2": "down", **typed,
    }  # fmt: skip
    before = snapshot(notebook)
    page = client.submit(new_page, "", fields)
    assert page.status == 422
    assert words in page.text
    assert snapshot(notebook) == before
    values = page.form().values
    for name in ("target", "notes", "resistance_notes", "dynamic"):
        assert values[name] == fields[name], name
    assert keys_on(page)["key-l2"] == "down"


def test_a_key_state_that_cannot_be_is_refused(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    before = snapshot(notebook)
    for state in ("shaded", "sideways"):
        page = client.submit(new_page, "", {"target": "D5 -50", "key-register": state})
        assert page.status == 422
    assert snapshot(notebook) == before


def test_a_fingering_is_logged_with_its_first_recording(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    page = client.submit(
        new_page, target="D5 -50", clip=(tone_wav(TARGET_HZ), "first.wav"), dynamic="p"
    )
    assert page.status == 200
    assert "measured and kept" in page.text
    shown = open_fingering(notebook, 1)
    assert shown.fingering.offset_cents == pytest.approx(0, abs=0.1)
    assert shown.takes[0].dynamic == "p"


@pytest.mark.parametrize(
    ("sound", "status", "words"),
    [(b"no sound at all", 415, "This is something else"), (b"", 415, "empty")],
)
def test_a_refused_first_recording_leaves_the_fingering_kept_and_says_so(
    notebook: Notebook, client: Browser, new_page: str, sound: bytes, status: int, words: str
) -> None:
    page = client.submit(
        new_page, target="D5 -50", notes="mine", dynamic="p", clip=(sound, "x.wav")
    )
    assert page.status == status
    assert "The fingering is kept, its recording is not." in page.text
    assert words in page.text
    assert kept(notebook).notes == "mine"
    assert page.form("/fingerings/1/takes").values["dynamic"] == "p"


def test_a_too_large_first_recording_leaves_the_fingering_kept(
    notebook: Notebook, client: Browser, new_page: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "CLIP_LIMIT_BYTES", 100)
    page = client.submit(new_page, target="D5 -50", clip=(tone_wav(TARGET_HZ), "x.wav"))
    assert page.status == 413
    assert "The fingering is kept, its recording is not." in page.text
    assert kept(notebook).target_text == "D5-50c"


def test_what_is_wrong_with_what_is_said_of_the_first_take_is_said(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    page = client.submit(
        new_page, target="D5 -50", tuning_a_hz="500", clip=(tone_wav(TARGET_HZ), "x.wav")
    )
    assert page.status == 422
    assert "470" in page.text
    assert kept(notebook).take_count == 0


def test_an_edit_form_sent_back_untouched_changes_nothing_but_the_version(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    del new_page
    base = log(notebook, 1, "D5", KEYS)
    fingering = log(
        notebook, 1, "500 Hz", "T R (1)23 | 1--", base=f"logged:{base}", resistance=3,
        notes="two\nlines", tags=("a", "b"), does_not_speak=True, resistance_notes="words",
    )  # fmt: skip
    names = ("keys_text", "target_text", "target_typed", "base_id", "base_keys_text", "notes",
             "tags", "does_not_speak", "resistance", "resistance_notes", "strategy")  # fmt: skip
    before = kept(notebook, fingering)
    assert client.submit(f"/fingerings/{fingering}/edit").status == 200
    after = kept(notebook, fingering)
    for name in names:
        was, is_now = getattr(before, name), getattr(after, name)
        if name == "notes":
            is_now = is_now.replace("\r\n", "\n")
        assert is_now == was, name
    assert after.version == before.version + 1


@pytest.mark.parametrize("is_removed", [False, True])
def test_an_edit_keeps_the_base_that_went_to_the_bin(
    notebook: Notebook, client: Browser, new_page: str, is_removed: bool
) -> None:
    del new_page
    base = log(notebook, 1, "D5", "T R 1-3 | 12-")
    fingering = log(notebook, 1, "D5 -50", KEYS, base=f"logged:{base}")
    put_in_bin(notebook, "fingering", base)
    if is_removed:
        empty_bin(notebook)
    assert client.submit(f"/fingerings/{fingering}/edit", notes="edited").status == 200
    row = kept(notebook, fingering)
    assert (row.notes, row.base_keys_text) == ("edited", "T R 1-3 | 12-")
    assert client.get(f"/fingerings/{fingering}").status == 200


def test_an_edit_under_other_note_names_keeps_the_target(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    change_preferences(notebook, Writing(names=NoteNames.GERMAN))
    client.submit(new_page, target="B4", notes="B flat")
    assert kept(notebook).written_cents == 7000
    change_preferences(notebook, Writing())
    client.submit("/fingerings/1/edit", notes="still B flat")
    row = kept(notebook)
    assert (row.written_cents, row.notes) == (7000, "still B flat")


def test_an_edit_changes_keys_target_and_words(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    del new_page
    fingering = log(notebook, 1, "D5 -50", KEYS)
    page = client.submit(
        f"/fingerings/{fingering}/edit", without=["key-thumb"], target="E5 +50", notes="new",
        does_not_speak="y",
    )  # fmt: skip
    assert page.status == 200
    row = kept(notebook, fingering)
    assert (row.target_text, row.notes, row.does_not_speak) == ("E5+50c", "new", True)
    assert row.keys_text == "R 123 | 12-"
    assert "Does not speak" in page.text


def test_a_refused_edit_keeps_text_and_row(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    del new_page
    fingering = log(notebook, 1, "D5 -50", KEYS)
    page = client.submit(f"/fingerings/{fingering}/edit", target="D", notes="typed")
    assert page.status == 422
    assert page.form().values["notes"] == "typed"
    assert page.form().values["target"] == "D"
    assert kept(notebook, fingering).notes == ""


def test_a_stale_edit_shows_both_texts_and_overwrites_nothing(
    notebook: Notebook, client: Browser, new_page: str
) -> None:
    del new_page
    fingering = log(notebook, 1, "D5 -50", KEYS)
    stale = client.get(f"/fingerings/{fingering}/edit")
    theirs = draft("D5 -40", "T R 1-- | ---", notes="theirs", tags=("their tag",))
    change_fingering(notebook, fingering, theirs, seen_version=1, names=NoteNames.ENGLISH)
    page = Page(client.send(stale, stale.form(), fields={"notes": "mine", "key-right-e": "down"}))
    assert page.status == 409
    for stored in ("theirs", "their tag", "T R 1-- | ---"):
        assert stored in page.text
    assert page.form().values["notes"] == "mine"
    assert keys_on(page)["key-right-e"] == "down"
    assert (kept(notebook, fingering).notes, kept(notebook, fingering).version) == ("theirs", 2)
    assert client.follow(client.send(page, page.form())).status == 200
    row = kept(notebook, fingering)
    assert row.notes == "mine"
    assert row.keys_text == format_fingering(row.key_states())
    assert "right E" in row.keys_text


def test_a_take_that_arrives_meanwhile_is_no_conflict(
    notebook: Notebook, client: Browser, new_page: str, take_maker: TakeMaker
) -> None:
    del new_page
    fingering = log(notebook, 1, "D5 -50", KEYS)
    page = client.get(f"/fingerings/{fingering}/edit")
    take_maker(notebook, fingering, 500.0)
    assert client.follow(client.send(page, page.form(), fields={"notes": "x"})).status == 200


def test_the_page_shows_the_number_first_then_its_grounds(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/fingerings/{rows.base}")
    # 10 cents were put in; pooled from the one take that counts.
    assert page.find("span", class_="answer-number")[0].text == "+10.0"
    assert "measured, 1 take" in page.text
    pictures = page.find("svg")
    assert len(pictures) >= 5, "fingering, staff, offset, trace, spectrum"
    drawn = [each for each in pictures if each.attributes.get("aria-hidden") != "true"]
    assert all(each.attributes.get("role") == "img" for each in drawn)
    assert page.find("audio", src=f"/takes/{rows.take}/clip")
    assert "mf" in page.text


def test_the_family_is_shown_from_the_first_to_the_latest(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/fingerings/{rows.grandchild}")
    hrefs = [each.attributes["href"] for each in page.find("a")]
    assert f"/fingerings/{rows.base}" in hrefs
    assert f"/fingerings/{rows.child}" in hrefs
    assert page.html.index(f"/fingerings/{rows.base}") < page.html.rindex(
        f"/fingerings/{rows.child}"
    )
