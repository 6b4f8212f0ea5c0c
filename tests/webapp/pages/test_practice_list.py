"""The list of a practice on its page: forms all the way."""

import pytest
from flask.testing import FlaskClient

from analysis.finder import Strategy
from analysis.pitch import NoteNames
from tests.webapp.browsing import ORIGIN, SAME_ORIGIN, Browser, Page
from tests.webapp.finder_fakes import RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.playing import listed, sounding_hz
from webapp.notebook.finder.tries import SuggestionNote, take_up
from webapp.notebook.practice.practice import (
    PracticeDraft,
    end_practice,
    find_current_practice,
    open_practice,
    start_practice,
)
from webapp.notebook.practice.practice_targets import add_typed, settle_target
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import TargetState

HOSTILE = "<script>alert(1)</script>"


def texts(notebook: Notebook, practice: int) -> list[str]:
    return [row.target_text for row in listed(notebook, practice)]


def press(
    client: Browser, practice: int, action: str, buttons: dict[str, str] | None = None
) -> Page:
    """Press a button of the practice's page; several forms may lead to one address."""
    page = client.get(f"/practice/{practice}")
    wanted = buttons or {}
    form = next(
        each
        for each in page.forms
        if each.action.endswith(action)
        and all(each.values.get(name) == value for name, value in wanted.items())
    )
    return client.follow(client.send(page, form))


def token(client: Browser) -> str:
    return client.get("/preferences").form("").values["csrf_token"]


def post(client: Browser, path: str, **fields: str) -> int:
    """Send fields past any form, and return the status."""
    inner: FlaskClient = client.client
    values = {"csrf_token": token(client), **fields}
    return inner.post(path, base_url=ORIGIN, data=values, headers=SAME_ORIGIN).status_code


def test_an_empty_list_says_what_to_do_and_typed_pitches_fill_it(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    assert "Nothing yet." in client.get(f"/practice/{practice}").text
    page = client.submit(f"/practice/{practice}", "/targets/typed", targets="D5 -50, E5\nF5 +50")
    assert "3 targets are on the list." in page.text
    assert texts(notebook, practice) == ["D5-50c~0", "E5", "F5+50c~0"]
    assert "D quarter-flat 5" in page.text


def test_typed_text_that_cannot_be_read_comes_back_with_its_place(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    page = client.submit(f"/practice/{practice}", "/targets/typed", targets=f"D5, {HOSTILE}")
    assert page.status == 422
    assert "Note 2" in page.text
    assert page.form("/targets/typed").values["targets"] == f"D5, {HOSTILE}"
    assert HOSTILE not in page.html
    assert texts(notebook, practice) == []


def test_an_empty_text_is_refused(client: Browser, practice: int) -> None:
    page = client.submit(f"/practice/{practice}", "/targets/typed", targets=" ")
    assert page.status == 422
    assert "Type at least one pitch" in page.text


def test_gaps_are_added_and_a_range_that_is_none_comes_back(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    path = f"/practice/{practice}"
    page = client.submit(path, "/targets/gaps", grid="24", low="C5", high="F5", count="2")
    assert "2 targets are on the list." in page.text
    assert texts(notebook, practice) == ["C5+50c", "D5-50c"]
    page = client.submit(path, "/targets/gaps", grid="24", low="F5", high="C5", count="2")
    assert page.status == 422
    assert page.form("/targets/gaps").values["low"] == "F5"
    for count in ("", "x", "0", "999"):
        assert client.submit(path, "/targets/gaps", count=count).status == 422


def test_what_waits_for_a_recording_is_added_and_nothing_waiting_is_said(
    notebook: Notebook, client: Browser, clarinet: int, practice: int
) -> None:
    page = press(client, practice, "/targets/unproven")
    assert page.status == 422
    assert "has been recorded" in page.text
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    page = press(client, practice, "/targets/unproven")
    assert "1 target is on the list." in page.text
    assert page.find("a", href="/fingerings/1")


@pytest.fixture
def suggested(notebook: Notebook, clarinet: int, fake_finder: FakeFinder) -> int:
    del fake_finder
    note = SuggestionNote("F5-50c", RAISED_E5, "ordinary:E5:1", Strategy.RAISED)
    return take_up(notebook, ResultCache(), clarinet, note)


def test_the_try_list_is_added(
    notebook: Notebook, client: Browser, practice: int, suggested: int
) -> None:
    page = press(client, practice, "/targets/tries")
    assert "1 target is on the list." in page.text
    assert listed(notebook, practice)[0].suggestion_id == suggested
    assert "on the list already" in press(client, practice, "/targets/tries").text


def test_practise_these_begins_a_practice_and_leads_to_the_stand(
    notebook: Notebook, client: Browser, clarinet: int, suggested: int
) -> None:
    page = client.submit(f"/instruments/{clarinet}/tries", "/tries/practise")
    assert page.find("h1")[0].text == "At the stand"
    assert "F quarter-flat 5" in page.text
    current = find_current_practice(notebook, clarinet)
    assert current is not None
    assert [row.suggestion_id for row in listed(notebook, current.id)] == [suggested]
    # once more: the same practice, and nothing twice
    page = client.submit(f"/instruments/{clarinet}/tries", "/tries/practise")
    assert "on the list already" in page.text
    again = find_current_practice(notebook, clarinet)
    assert again is not None and again.id == current.id
    assert len(listed(notebook, current.id)) == 1


def test_targets_are_moved_marked_and_removed(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    add_typed(notebook, practice, "C5, D5, E5", names=NoteNames.ENGLISH)
    press(client, practice, "/targets/3/move", {"direction": "up"})
    assert texts(notebook, practice) == ["C5", "E5", "D5"]
    press(client, practice, "/targets/1/move", {"direction": "down"})
    assert texts(notebook, practice) == ["E5", "C5", "D5"]
    press(client, practice, "/targets/2/remove")
    assert texts(notebook, practice) == ["E5", "C5"]
    page = press(client, practice, "/targets/3/state", {"state": "done"})
    assert "done" in page.text
    assert listed(notebook, practice)[0].state == TargetState.DONE
    press(client, practice, "/targets/3/state", {"state": "open"})
    assert listed(notebook, practice)[0].state == TargetState.OPEN


def test_a_note_is_kept_as_text(notebook: Notebook, client: Browser, practice: int) -> None:
    add_typed(notebook, practice, "C5", names=NoteNames.ENGLISH)
    page = client.get(f"/practice/{practice}")
    form = next(each for each in page.forms if "note" in each.values)
    page = client.follow(client.send(page, form, fields={"note": HOSTILE}))
    assert listed(notebook, practice)[0].note == HOSTILE
    assert HOSTILE not in page.html
    press(client, practice, "/targets/1/state", {"state": "done"})
    assert listed(notebook, practice)[0].note == HOSTILE


def test_a_state_that_is_none_is_refused(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    add_typed(notebook, practice, "C5", names=NoteNames.ENGLISH)
    assert post(client, "/targets/1/state", state="lost") == 422
    assert post(client, "/targets/1/state.json", state="lost") == 422
    assert listed(notebook, practice)[0].state == TargetState.OPEN


def test_a_script_marks_a_target_and_is_told_in_json(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    add_typed(notebook, practice, "C5", names=NoteNames.ENGLISH)
    answer = client.client.post(
        "/targets/1/state.json",
        base_url=ORIGIN,
        data={"csrf_token": token(client), "state": "skipped"},
        headers=SAME_ORIGIN,
    )
    assert answer.json == {"target": 1, "state": "skipped"}
    end_practice(notebook, practice)
    refused = client.client.post(
        "/targets/1/state.json",
        base_url=ORIGIN,
        data={"csrf_token": token(client), "state": "done"},
        headers=SAME_ORIGIN,
    )
    assert refused.status_code == 422
    assert refused.json is not None and "is over" in refused.json["error"]["message"]
    assert listed(notebook, practice)[0].state == TargetState.SKIPPED


def test_a_form_on_the_stand_leads_back_to_its_target(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    add_typed(notebook, practice, "C5", names=NoteNames.ENGLISH)
    page = client.get(f"/practice/{practice}/stand")
    form = next(each for each in page.forms if each.values.get("state") == "done")
    answer = client.send(page, form)
    assert answer.headers["Location"] == f"/practice/{practice}/stand#target-1"
    assert listed(notebook, practice)[0].state == TargetState.DONE


def test_tuning_and_temperature_are_changed_while_the_practice_is_open(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    path = f"/practice/{practice}"
    form = client.get(path).form("/facts")
    assert form.values["tuning_a_hz"] == "440"
    page = client.submit(path, "/facts", tuning_a_hz="442,5", air_temperature_c="17")
    assert "A = 442.5 Hz, air 17 °C" in page.text
    page = client.submit(path, "/facts", tuning_a_hz="300")
    assert page.status == 422
    assert page.form("/facts").values["tuning_a_hz"] == "300"
    assert client.submit(path, "/facts", tuning_a_hz="spoon").status == 422
    assert open_practice(notebook, practice).practice.tuning_a_hz == 442.5
    end_practice(notebook, practice)
    assert post(client, f"{path}/facts", tuning_a_hz="441") == 422
    assert open_practice(notebook, practice).practice.tuning_a_hz == 442.5


def test_what_a_practice_brought_stands_on_its_page(
    notebook: Notebook, client: Browser, clarinet: int, take_maker: TakeMaker
) -> None:
    old = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    new = log(notebook, clarinet, "E5 -50", "T R 12- | ---")
    take_maker(notebook, old, sounding_hz(7350))
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_typed(notebook, practice, "D5 -50, F5 +50, G5", names=NoteNames.ENGLISH)
    take_maker(notebook, old, sounding_hz(7350 + 30))
    take_maker(notebook, new, sounding_hz(7550 - 4))
    settle_target(notebook, 1, TargetState.DONE)
    settle_target(notebook, 2, TargetState.SKIPPED, note="too high")
    assert "So far" in client.get(f"/practice/{practice}").text
    page = press(client, practice, "/end")
    assert "What it brought" in page.text
    assert "1 measured for the first time, 1 again, of which 1 moved." in page.text
    assert "1 of 3 targets done." in page.text
    assert "Moved +30.0" in page.text
    assert "−4.0 ±" in page.text
    assert "too high skipped" in page.text
    assert "G5 not played" in page.text
    assert not page.find("textarea", id="targets")


@pytest.mark.parametrize(
    "path",
    [
        "/practice/99/facts",
        "/practice/99/targets/typed",
        "/practice/99/targets/gaps",
        "/practice/99/targets/tries",
        "/practice/99/targets/unproven",
        "/instruments/99/tries/practise",
        "/targets/99/move",
        "/targets/99/remove",
        "/targets/99/state",
        "/targets/99/state.json",
    ],
)
def test_what_is_not_there_and_the_wrong_method(client: Browser, path: str) -> None:
    assert post(client, path, state="done", targets="D5", count="1", grid="24") == 404
    assert client.fetch(path).status_code == 405


def test_without_a_token_nothing_is_changed(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    answer = client.client.post(
        f"/practice/{practice}/targets/typed",
        base_url=ORIGIN,
        data={"targets": "D5"},
        headers=SAME_ORIGIN,
    )
    assert answer.status_code == 400
    assert texts(notebook, practice) == []


def test_a_note_is_listed_once_however_it_is_spelled(
    notebook: Notebook, client: Browser, practice: int
) -> None:
    address = f"/practice/{practice}"
    typed = "F#5 -30\nD quarter-flat 5\nD5 -50"
    client.submit(address, "/targets/typed", targets=typed)
    assert texts(notebook, practice) == ["F#5-30c~100", "D5-50c"]
    page = client.submit(address, "/targets/typed", targets="F quarter-sharp 5 +20")
    assert "All of this is on the list already." in page.text


def test_open_notes_of_a_plan_are_played_at_the_stand_at_once(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    path = f"/instruments/{clarinet}/notes/practise"
    form = {"note": ["D5-50c", "F5+50c"], "csrf_token": token(client)}
    answer = client.client.post(path, data=form, headers=SAME_ORIGIN, base_url=ORIGIN)
    practice = find_current_practice(notebook, clarinet)
    assert practice is not None
    assert answer.headers["Location"] == f"/practice/{practice.id}/stand"
    assert [row.target_text for row in listed(notebook, practice.id)] == form["note"]
    spoon = {**form, "note": "spoon"}
    answer = client.client.post(path, data=spoon, headers=SAME_ORIGIN, base_url=ORIGIN)
    assert "is no note" in client.get(answer.headers["Location"]).text
