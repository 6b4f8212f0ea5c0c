"""The pages of passages: choose bars, fix by a touch, see what changed, and the sheet that asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from tests.webapp.awkward_cases import sounding_hz
from tests.webapp.browsing import Browser, Page
from tests.webapp.finder_fakes import FakeFinder, put_in_place
from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.notebook.pieces.filling import add_typed_piece
from webapp.notebook.pieces.chosen_passages import PassagePage, open_passage
from webapp.notebook.pieces.decisions import load_decisions
from webapp.notebook.pieces.printing import list_places_of
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Working
from webapp.notebook.store.rows import ChosenPassage, Fingering
from webapp.pages import piece_passages

TEXT = (
    '12: A4~B4 (1/16) "1/4=132", A4~B4, D5 -50 (1/4), F#5 (1/4) | 13: tr D5/E5 (1/2), C5 | '
    "14: D5 -50 (1/2)"
)
HERE, EVERYWHERE = {"for": "here"}, {"for": "everywhere"}
LOW, HIGH = "T R 123 | 12- | right E", "T R 123 | 12- | left E"


@pytest.fixture
def piece(notebook: Notebook, clarinet: int, monkeypatch: pytest.MonkeyPatch) -> int:
    put_in_place(monkeypatch)
    return add_typed_piece(notebook, clarinet, text=TEXT)


@pytest.fixture
def path(
    client: Browser, piece: int, notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> str:
    """The address of bars 12 and 13 as a passage; the quarter tone has a fingering that is near."""
    number = log(notebook, clarinet, "D5 -50", LOW)
    take_maker(notebook, number, sounding_hz(7350 + 14, -200))
    page = client.submit(
        f"/pieces/{piece}/on/1/passages/", "/passages/", bars="12-13", emphasis="safest"
    )
    assert page.status == 200, page.text
    return page.response.request.path


def fix_note(client: Browser, path: str, note: str, keys: str, where: Mapping[str, str]) -> Page:
    """Touch a button of the page, with what stands in its form."""
    page = client.get(path)
    form = next(each for each in page.forms if each.action.endswith("/fix"))
    return client.follow(client.send(page, form, fields={"note": note, "keys": keys, **where}))


def keys_now(notebook: Notebook) -> str:
    with notebook.database.reading() as session:
        return session.query(ChosenPassage).one().shown


def test_bars_are_chosen_and_fingered(client: Browser, path: str, piece: int) -> None:
    page = client.get(path)
    assert page.find("h1")[0].text == "Bars 12-13"
    assert "--- | 123 | throat A, right hand kept down, not tried" in page.text
    assert LOW in page.text
    assert len(page.find("li", class_="step")) >= 6
    listed = client.get(f"/pieces/{piece}/on/1/passages/")
    assert "Bars 12-13" in listed.text
    again = client.submit(
        f"/pieces/{piece}/on/1/passages/",
        "/passages/",
        bars="12-13",
        tempo="60,5",
        emphasis="most in tune",
    )
    assert again.response.request.path == path
    assert "60.5 quarter notes a minute, most in tune" in again.text


def test_while_predictions_are_worked_out_it_looks_again_by_itself(
    client: Browser, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Refresh" not in client.get(path).response.headers

    def open_early(*asked: Any) -> PassagePage:
        return replace(open_passage(*asked), missing=Working(2.0))

    monkeypatch.setattr(piece_passages, "open_passage", open_early)
    page = client.get(path)
    assert int(page.response.headers["Refresh"]) > 0
    assert "Fingerings for the open notes follow." in page.text
    assert LOW in page.text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"bars": "99"}, "There is no bar “99” in this part; it has 12 to 14."),
        ({"bars": "12", "tempo": "9000"}, "Give 10 to 400 quarter notes a minute."),
        ({"bars": "12", "tempo": "fast"}, "is not a number"),
    ],
)
def test_what_cannot_be_chosen_comes_back_with_what_was_typed(
    client: Browser, piece: int, typed: dict[str, str], words: str
) -> None:
    page = client.submit(f"/pieces/{piece}/on/1/passages/", "/passages/", typed=typed)
    assert page.status == 422
    assert words in page.text
    assert page.find("input", name="bars")[0].attributes["value"] == typed["bars"]


def test_one_touch_fixes_and_another_lets_go(
    client: Browser, path: str, notebook: Notebook
) -> None:
    plain = "--- | --- | throat A"
    page = fix_note(client, path, "0", plain, HERE)
    assert page.status == 200
    assert page.text.count("fixed") >= 1
    with notebook.database.reading() as session:
        (held,) = load_decisions(session, 1, 1).fixed
        assert (held.bar, held.onset, held.fingering.keys_text) == (0, "0", plain)
    assert "fingered otherwise than" not in page.text
    free = client.submit(path, f"/let-go/{held.id}?note=0")
    with notebook.database.reading() as session:
        assert load_decisions(session, 1, 1).fixed == ()
    assert "One note is fingered otherwise than" in free.text  # as it was before the touch
    seen = client.submit(path, "/seen")
    assert "fingered otherwise than" not in seen.text


def test_a_predicted_one_that_is_fixed_is_logged_and_holds_everywhere(
    client: Browser, path: str, notebook: Notebook
) -> None:
    predicted = "T R 123 | 12- | right F#"
    fix_note(client, path, "4", predicted, EVERYWHERE)
    with notebook.database.reading() as session:
        (held,) = load_decisions(session, 1, 1).fixed
        assert (held.kind, held.fingering.keys_text) == ("pitch", predicted)
        assert session.query(Fingering).count() == 2
    fix_note(client, path, "4", "nonsense", HERE)
    with notebook.database.reading() as session:
        assert len(load_decisions(session, 1, 1).fixed) == 1


def test_a_changed_notebook_changes_the_passage_visibly_never_what_is_fixed(
    client: Browser, path: str, notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    fix_note(client, path, "5", "T R 123 | -2-", HERE)
    before = keys_now(notebook)
    better = log(notebook, clarinet, "D5 -50", HIGH)
    take_maker(notebook, better, sounding_hz(7350, -200))
    page = client.get(path)
    assert "fingered otherwise than" in page.text
    assert f"Before: {LOW}" in page.text
    assert "changed" in page.text
    assert keys_now(notebook) == before  # looking writes nothing
    seen = client.submit(path, "/seen")
    assert "fingered otherwise than" not in seen.text
    assert HIGH in keys_now(notebook)
    assert "T R 123 | -2-" in keys_now(notebook)


def test_the_sheet_has_what_the_passage_showed_last(
    client: Browser, path: str, notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    better = log(notebook, clarinet, "D5 -50", HIGH)
    take_maker(notebook, better, sounding_hz(7350, -200))
    keys = [each.keys_text for each in list_places_of(notebook, 1)]
    assert keys == [LOW, HIGH]  # bar 14 is in no passage
    client.submit(path, "/seen")
    assert [each.keys_text for each in list_places_of(notebook, 1)] == [HIGH, HIGH]


def test_a_passage_is_forgotten_and_moves_with_its_bars(
    client: Browser, path: str, piece: int, notebook: Notebook
) -> None:
    moved = "11: G4 | " + TEXT
    client.submit(f"/pieces/{piece}/change", f"/pieces/{piece}/import", text=moved)
    with notebook.database.reading() as session:
        row = session.query(ChosenPassage).one()
        assert (row.first_bar, row.last_bar) == (1, 2)
    assert "fingered otherwise than" not in client.get(path).text
    page = client.submit(path, "/remove")
    assert "Bars 12-13" not in page.text
    assert client.get(path).status == 404


def test_without_a_model_open_notes_stay_open_and_the_reason_is_told(
    client: Browser, piece: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    fake: FakeFinder = put_in_place(monkeypatch)
    fake.is_unavailable = True
    page = client.submit(f"/pieces/{piece}/on/1/passages/", "/passages/", bars="14")
    assert "One note is open." in page.text
    assert "Nothing is known of this tube, says the fake." in page.text
