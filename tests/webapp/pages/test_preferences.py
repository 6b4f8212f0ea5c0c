"""The preferences page."""

from urllib.parse import unquote, urlsplit

import pytest

from analysis.finder.inputs import USUAL_LIP, LipReach
from analysis.pitch import (
    SIGN_SYSTEMS,
    NoteNames,
    SystemId,
    WrittenPitch,
)
from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import add_clarinet, log
from webapp.notebook.preferences.preferences import LIP_FIELDS, Writing, read_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.answers import read_judge


def test_preferences_are_kept_and_shown_again(notebook: Notebook, client: Browser) -> None:
    page = client.submit(
        "/preferences", note_names="german", accidental_style="arrows", tolerance_cents="7,5",
        theme="dark",
    )  # fmt: skip
    assert page.status == 200
    assert read_preferences(notebook) == Writing(
        NoteNames.GERMAN, SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH], 7.5, "dark"
    )
    values = page.form().values
    assert (values["note_names"], values["tolerance_cents"]) == ("german", "7.5")
    assert page.find("html")[0].attributes["data-theme"] == "dark"


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("tolerance_cents", "0", "from 1 to 50"),
        ("tolerance_cents", "", "from 1 to 50"),
        ("tolerance_cents", "much", "is not a number"),
        ("lip_down_cents", "61", "from 0 to 60"),
        ("lip_up_high_cents", "-1", "from 0 to 60"),
        ("lip_up_cents", "much", "is not a number"),
        ("theme", "pink", "is not one of the choices"),
        ("note_names", "latin", "is not one of the choices"),
        ("accidental_style", "none", "is not one of the choices"),
    ],
)
def test_a_refusal_stands_beside_its_field(
    notebook: Notebook, client: Browser, field: str, typed: str, words: str
) -> None:
    page = client.submit("/preferences", "", {field: typed})
    assert page.status == 422
    (error,) = page.find("p", id=f"{field}-error")
    assert words in error.text
    assert read_preferences(notebook) == Writing()


def test_how_far_the_lip_goes_is_the_players_and_left_open_it_is_as_usual(
    notebook: Notebook, client: Browser
) -> None:
    instrument = add_clarinet(notebook)
    with notebook.database.reading() as session:
        usual = read_judge(session, fetch(session, Instrument, instrument))
    page = client.submit("/preferences", lip_down_cents="30", lip_up_high_cents="0")
    lip = read_preferences(notebook).lip
    assert lip.usual == LipReach(30.0, USUAL_LIP.usual.flat_cents)
    assert lip.altissimo == LipReach(USUAL_LIP.altissimo.sharp_cents, 0.0)
    values = page.form().values
    assert [values[name] for name in LIP_FIELDS] == ["30", "", "", "0"]
    e4, g5 = map(WrittenPitch.from_canonical, ("E4", "G5"))
    with notebook.database.reading() as session:
        judge = read_judge(session, fetch(session, Instrument, instrument))
    assert (usual.note(e4).reach, usual.note(g5).reach) == (USUAL_LIP.usual, USUAL_LIP.clarion)
    assert (judge.note(e4).reach, judge.note(g5).reach) == (lip.usual, lip.clarion)
    client.submit("/preferences", lip_down_cents="", lip_up_high_cents="")
    assert read_preferences(notebook).lip == USUAL_LIP


def test_the_size_of_an_arrow_is_the_players_and_stands_in_the_legend(
    notebook: Notebook, client: Browser
) -> None:
    page = client.submit("/preferences", accidental_style="arrows-own", arrow_cents="21,5")
    assert read_preferences(notebook).accidentals.text == "arrows-own arrow=43/2"
    assert "natural with arrow up +21.5 cents" in page.text
    assert page.form().values["arrow_cents"] == "21.5"


def test_a_stroked_flat_has_the_size_that_is_typed(notebook: Notebook, client: Browser) -> None:
    page = client.submit("/preferences", stroked_flat_cents="-50", filled_flat_cents="-150")
    assert read_preferences(notebook).accidentals.text == (
        "stein-zimmermann stroked=-50 filled=-150"
    )
    assert "stroked flat −50 cents" in page.text


@pytest.mark.parametrize("system", SystemId)
def test_every_system_tells_what_its_signs_mean(client: Browser, system: SystemId) -> None:
    page = client.submit("/preferences", accidental_style=system.value)
    for sign, _ in SIGN_SYSTEMS[system].legend():
        assert sign.words in page.text
    assert "counted from the natural note in equal temperament" in page.text


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("arrow_cents", "0", "Give 1 to 150"),
        ("double_arrow_cents", "151", "Give 1 to 150"),
        ("stroked_flat_cents", "50", "give -200 to -1"),
        ("filled_flat_cents", "flat", "is not a number"),
    ],
)
def test_a_size_that_cannot_be_is_refused_beside_its_field(
    notebook: Notebook, client: Browser, field: str, typed: str, words: str
) -> None:
    page = client.submit("/preferences", "", {field: typed})
    assert page.status == 422
    (error,) = page.find("p", id=f"{field}-error")
    assert words in error.text
    assert read_preferences(notebook) == Writing()


@pytest.mark.parametrize(
    ("names", "written"),
    # German: B flat is B (common practice, from memory); Romance: si bémol.
    [("english", "B flat 4"), ("german", "B4"), ("romance", "si bémol 4")],
)
def test_pages_write_notes_in_the_players_language(
    notebook: Notebook, client: Browser, names: str, written: str
) -> None:
    fingering = log(notebook, add_clarinet(notebook), "Bb4", "--- | --- | throat A")
    client.submit("/preferences", note_names=names)
    heading = client.get(f"/fingerings/{fingering}").find("h1")[0].text
    assert heading.replace(" ", "").casefold() == written.replace(" ", "").casefold()


@pytest.mark.parametrize("names", list(NoteNames))
def test_every_step_leads_to_itself_under_any_note_names(
    notebook: Notebook, client: Browser, names: NoteNames
) -> None:
    # B4 means B flat 4 in German (common practice); an address has the canonical text in any case.
    clarinet = add_clarinet(notebook)
    client.submit("/preferences", note_names=names.value)
    page = client.get(f"/instruments/{clarinet}/range")
    addresses = [urlsplit(link.attributes["href"]) for link in page.find("a")]
    paths = [unquote(each.path).partition("/notes/")[2] for each in addresses]
    meant = {WrittenPitch.from_canonical(each) for each in paths if each}
    wanted = {"B3", "Bb4", "B4-50c", "B4+50c", "D5-50c"}
    assert len(meant) > 70
    assert {WrittenPitch.from_canonical(each) for each in wanted} <= meant


def test_a_stale_page_overwrites_nothing_and_says_so(notebook: Notebook, client: Browser) -> None:
    page = client.get("/preferences")
    client.submit("/preferences", tolerance_cents="7")
    answer = client.send(page, page.form(), fields={"tolerance_cents": "12"})
    assert answer.status_code == 409
    assert read_preferences(notebook).tolerance_cents == 7.0
    shown = client.follow(answer)
    assert "changed in another window" in shown.text
    assert shown.form().values["tolerance_cents"] == "12"
    client.send(shown, shown.form())
    assert read_preferences(notebook).tolerance_cents == 12.0
