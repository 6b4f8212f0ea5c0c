"""Loops as the server answers them: from the stand, on a list, on their page, through the bin."""

import json

from tests.webapp.browsing import Browser
from tests.webapp.looping import E5_KEYS, ENDS, F5_KEYS, record_loop, sound_of
from tests.webapp.pages.sending import error_of, json_of, send
from tests.webapp.tones import tone_wav
from webapp.notebook.loops.loops import open_loops
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.practice.practice_targets import add_loop
from webapp.notebook.store.notebook import Notebook

FIELDS = {"note": "E5", "keys": E5_KEYS, "second": "F5", "second_keys": F5_KEYS}


def test_a_loop_from_the_stand_is_answered_with_its_figure(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    path = f"/instruments/{clarinet}/loops.json"
    sound = sound_of(notebook, clarinet)
    answer = send(client, path, sound, FIELDS, take_tuning_a_hz="440")
    found = json_of(answer)
    assert answer.status_code == 201
    assert found["loop"]["ways"].startswith("up ")
    assert "down " in found["loop"]["ways"] and " ms ± " in found["loop"]["ways"]
    assert found["loop"]["figure"].endswith("even")
    assert found["pooled_loop"]["ways"] == found["loop"]["ways"]
    again = send(client, path, sound, FIELDS, take_tuning_a_hz="440")
    assert (again.status_code, json_of(again)["take"]) == (200, found["take"])
    clip = client.fetch(f"/loops/{found['take']}/clip")
    assert (clip.status_code, clip.data) == (200, sound)


def test_what_is_no_loop_is_refused_with_its_reason(client: Browser, clarinet: int) -> None:
    path = f"/instruments/{clarinet}/loops.json"
    refused = send(client, path, tone_wav(587.33, 2.0), FIELDS)
    assert refused.status_code == 415
    assert "Only the lower note is heard" in error_of(refused)["message"]
    assert send(client, path, tone_wav(587.33), {**FIELDS, "keys": "T Q"}).status_code == 422
    assert send(client, path, None, FIELDS).status_code == 415
    assert send(client, path, tone_wav(587.33), {"note": "E5"}).status_code == 422


def test_a_touch_puts_a_change_on_the_stand_and_the_list_says_what_it_is(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    path = f"/instruments/{clarinet}/loops/practise"
    answer = send(client, path, None, FIELDS)
    assert answer.status_code == 302
    assert "#target-" in answer.headers["Location"]
    stand = client.get(answer.headers["Location"].partition("#")[0])
    (item,) = [
        each.attributes for each in stand.find("section") if "data-is-loop" in each.attributes
    ]
    assert json.loads(item["data-fields"]) == FIELDS
    assert item["data-take-url"] == f"/instruments/{clarinet}/loops.json"
    assert len(stand.find("figure")) == 2
    assert "Not measured" in stand.text
    practice = answer.headers["Location"].split("/practice/")[1].split("/")[0]
    listed = client.get(f"/practice/{practice}")
    assert "slurred back and forth" in listed.text
    again = send(client, path, None, FIELDS)
    assert again.status_code == 302
    assert len(client.get(f"/practice/{practice}/stand").find("figure")) == 2


def test_the_stand_shows_what_is_known_and_survives_keys_of_another_keywork(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    record_loop(notebook, clarinet)
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_loop(notebook, practice, ENDS)
    page = client.get(f"/practice/{practice}/stand")
    (ways,) = [each for each in page.find("p") if "data-loop-ways" in each.attributes]
    assert ways.text.startswith("Up ")


def test_the_page_of_changes_lists_each_pair_with_its_recordings(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    path = f"/instruments/{clarinet}/loops"
    assert "No change is measured yet" in client.get(path).text
    number = record_loop(notebook, clarinet)
    page = client.get(path)
    assert "1 recording" in page.text
    assert "median of the newest three" in page.text
    send(client, f"/bin/loop/{number}", None)
    assert not open_loops(notebook, clarinet).pairs
    assert "Loop of" in client.get("/bin/").text
    send(client, f"/bin/loop/{number}/restore", None)
    assert len(open_loops(notebook, clarinet).pairs) == 1


def test_the_bin_answers_a_script_with_what_the_pair_is_now(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    first, second = (record_loop(notebook, clarinet, seed=seed) for seed in (1, 2))
    one_left = json_of(send(client, f"/bin/loop/{first}.json", None))
    assert one_left["pooled_loop"]["ways"].startswith("up ")
    assert json_of(send(client, f"/bin/loop/{second}.json", None))["pooled_loop"] is None
