"""The stand as the server answers it: everything is on the page, and it reads without scripts."""

import json

import pytest

from analysis.finder import Strategy
from analysis.pitch import NoteNames, WrittenPitch
from tests.webapp.browsing import Browser, Page
from tests.webapp.finder_fakes import RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.pages.sending import json_of, send
from tests.webapp.playing import sounding_hz
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.finder.tries import SuggestionNote, open_try, open_try_list, take_up
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.practice.practice import PracticeDraft, end_practice, start_practice
from webapp.notebook.practice.practice_targets import add_tries, add_typed
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import TryState
from webapp.notebook.takes.takes import open_take

D5_QUARTER_FLAT = 7350.0


@pytest.fixture
def suggested(notebook: Notebook, clarinet: int, fake_finder: FakeFinder) -> int:
    del fake_finder
    note = SuggestionNote("D5-50c", RAISED_E5, "ordinary:E5:1", Strategy.RAISED)
    return take_up(notebook, ResultCache(), clarinet, note)


def candidates(page: Page) -> list[dict[str, str]]:
    return [each.attributes for each in page.find("section") if "data-candidate" in each.attributes]


def test_the_list_of_a_session_is_on_one_page_with_all_it_needs(
    notebook: Notebook, client: Browser, clarinet: int, suggested: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-", resistance=2)
    take_maker(notebook, fingering, sounding_hz(D5_QUARTER_FLAT + 3))
    practice = start_practice(notebook, clarinet, PracticeDraft(442.0))
    add_typed(notebook, practice, "D5 -50, G5", names=NoteNames.ENGLISH)
    page = client.get(f"/practice/{practice}/stand")
    first, second = [each.attributes for each in page.find("li", class_="stand-item")]
    assert float(first["data-hz"]) == pytest.approx(sounding_hz(D5_QUARTER_FLAT, a4_hz=442.0))
    assert (first["data-written"], second["data-written"]) == ("D5-50c", "G5")
    urls = [each["data-take-url"] for each in candidates(page)]
    assert urls == [
        f"/fingerings/{fingering}/takes.json",
        f"/tries/{suggested}/takes.json",
        f"/instruments/{clarinet}/takes.json",
    ]
    assert len(page.find("svg", class_="fingering")) == 4  # two fingerings, two neighbours of G5
    assert "+3.0 ± 3.1 cents, 1 take" in page.text
    assert "predicted −7 ± 12 cents" in page.text
    assert "Resistance 2, light." in page.text
    assert "No fingering yet" in page.text
    assert page.find("a", href=f"/fingerings/{fingering}#attach")
    (stand,) = page.find("div", class_="stand")
    assert stand.attributes["data-tuning-a-hz"] == "442.0"
    assert stand.attributes["data-transposition-cents"] == "-200"


def test_an_empty_list_leads_to_where_it_is_made(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    practice = start_practice(notebook, clarinet, PracticeDraft())
    page = client.get(f"/practice/{practice}/stand")
    assert "The list of this session is empty." in page.text
    assert not page.find("div", class_="stand")


def test_a_session_that_is_over_says_so_and_marks_nothing(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_typed(notebook, practice, "D5", names=NoteNames.ENGLISH)
    end_practice(notebook, practice)
    page = client.get(f"/practice/{practice}/stand")
    assert "This session is over" in page.text
    assert page.forms == []


def test_one_fingering_and_one_target_lie_on_the_stand_without_a_session(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    for path in (f"/fingerings/{fingering}/stand", f"/instruments/{clarinet}/stand?q=D5+-50"):
        page = client.get(path)
        assert page.find("h2")[0].text == "D quarter-flat 5"
        assert [each["data-keys"] for each in candidates(page)] == ["T R 123 | 12-"]
        assert "Done" not in page.text


def test_takes_go_to_what_is_unsorted_where_no_fingering_is_logged(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    path = f"/instruments/{clarinet}/stand?q=D5"
    page = client.get(path)
    assert "Every note you hold is kept as an unsorted take" in page.text
    (place,) = candidates(page)
    assert "data-is-unsorted" in place
    assert place["data-take-url"] == f"/instruments/{clarinet}/takes.json"
    log(notebook, clarinet, "D5", "T R 123 | 123")
    page = client.get(path)
    assert "Every note you hold is cut, measured and kept" in page.text
    assert all("data-is-unsorted" not in each for each in candidates(page))


def test_nothing_typed_asks_for_a_note_and_keeps_what_is_played_and_nonsense_is_refused_in_place(
    client: Browser, clarinet: int
) -> None:
    page = client.get(f"/instruments/{clarinet}/stand")
    assert "Type one note" in page.text
    (stand,) = page.find("div", class_="stand")
    assert stand.attributes["data-unsorted-url"] == f"/instruments/{clarinet}/unsorted"
    (place,) = candidates(page)
    assert place["data-take-url"] == f"/instruments/{clarinet}/takes.json"
    refused = client.get(f"/instruments/{clarinet}/stand?q=spoon")
    assert refused.status == 422
    assert refused.form("", method="get").values["q"] == "spoon"


def test_the_stand_reads_and_names_in_the_players_language(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    change_preferences(notebook, Writing(names=NoteNames.GERMAN))
    page = client.get(f"/instruments/{clarinet}/stand?q=B4")
    assert page.find("li", class_="stand-item")[0].attributes["data-written"] == "Bb4"
    log_link = next(
        each.attributes["href"]
        for each in page.find("a")
        if "fingerings/new" in each.attributes.get("href", "")
    )
    assert client.get(log_link).form().values["target"] == "B4"


def test_the_note_that_a_take_without_a_fingering_meant_is_kept_in_any_language(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    change_preferences(notebook, Writing(names=NoteNames.GERMAN))
    item = client.get(f"/instruments/{clarinet}/stand?q=B4").find("li", class_="stand-item")[0]
    meant = item.attributes["data-written"]
    sound = tone_wav(sounding_hz(7000.0))
    sent = send(client, f"/instruments/{clarinet}/takes.json", sound, meant=meant, is_watched="1")
    assert sent.status_code == 201
    take = open_take(notebook, json_of(sent)["take"]).take
    assert (take.fingering_id, take.meant_text, take.is_watched) == (None, "Bb4", True)


def test_ways_lead_to_the_stand(notebook: Notebook, client: Browser, clarinet: int) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    assert client.get(f"/fingerings/{fingering}").find("a", href=f"/fingerings/{fingering}/stand")
    instrument = f"/instruments/{clarinet}"
    assert client.get(instrument).find("a", href=f"{instrument}/stand")
    practice = start_practice(notebook, clarinet, PracticeDraft())
    stand = f"/practice/{practice}/stand"
    assert client.get(instrument).find("a", href=stand)
    assert client.get(f"/practice/{practice}").find("a", href=stand)


@pytest.mark.parametrize("path", ["/practice/99", "/fingerings/99", "/instruments/99"])
def test_what_is_not_there_and_the_wrong_method(client: Browser, path: str) -> None:
    assert client.get(f"{path}/stand").status == 404
    assert client.client.post(f"{path}/stand", base_url="http://127.0.0.1:8765").status_code in (
        400,
        405,
    )


def test_the_first_take_of_a_try_logs_it_and_sending_it_again_changes_nothing(
    notebook: Notebook, client: Browser, suggested: int
) -> None:
    sound = tone_wav(sounding_hz(D5_QUARTER_FLAT + 5), 0.8)
    answer = send(client, f"/tries/{suggested}/takes.json", sound)
    assert answer.status_code == 201
    result = answer.json
    assert result is not None
    assert result["offset_cents"] == pytest.approx(5.0, abs=1.0)
    row = open_try(notebook, suggested)
    assert (row.state, row.fingering_id) == (TryState.TRIED, result["fingering"])
    again = send(client, f"/tries/{suggested}/takes.json", sound)
    assert (again.status_code, again.json) == (200, result)
    other = send(client, f"/tries/{suggested}/takes.json", tone_wav(sounding_hz(7350), 0.8, seed=9))
    assert other.status_code == 201
    assert other.json is not None and other.json["fingering"] == result["fingering"]
    assert len(open_fingering(notebook, result["fingering"]).takes) == 2


def test_a_take_that_is_no_recording_or_badly_described_logs_no_try(
    notebook: Notebook, client: Browser, suggested: int
) -> None:
    path = f"/tries/{suggested}/takes.json"
    assert send(client, path, None).status_code == 415
    bad = send(client, path, noise_wav(), recorded_at="yesterday")
    assert bad.status_code == 422
    assert open_try(notebook, suggested).state == TryState.WAITING


def test_a_try_that_is_not_there_takes_nothing(client: Browser, suggested: int) -> None:
    del suggested
    answer = send(client, "/tries/99/takes.json", tone_wav(500.0, 0.8))
    assert answer.status_code == 404
    assert answer.json is not None and "no try number 99" in answer.json["error"]["message"]
    assert client.fetch("/tries/1/takes.json").status_code == 405


def test_a_take_goes_to_the_session_it_was_played_in_with_the_tuning_it_was_played_at(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    practice = start_practice(notebook, clarinet, PracticeDraft(442.0))
    played_at = client.fetch("/token.json", {"Sec-Fetch-Site": "same-origin"}).json
    assert played_at is not None
    end_practice(notebook, practice)
    sound = tone_wav(sounding_hz(D5_QUARTER_FLAT + 2, a4_hz=441.0), 0.8)
    answer = send(
        client,
        f"/fingerings/{fingering}/takes.json",
        sound,
        recorded_at=str(played_at["now"]),
        take_tuning_a_hz="441.0",
    )
    assert answer.json is not None
    take = open_take(notebook, answer.json["take"]).take
    assert (take.practice_id, take.tuning_a_hz) == (practice, 441.0)
    assert answer.json["offset_cents"] == pytest.approx(2.0, abs=1.0)


def test_a_script_puts_a_take_in_the_bin_and_takes_it_out_again(
    notebook: Notebook, client: Browser, clarinet: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    take = take_maker(notebook, fingering, 508.0)
    put = send(client, f"/bin/take/{take}.json", None)
    alone = {"kind": "take", "id": take, "standings": [], "pooled": None}
    assert put.json == {**alone, "is_binned": True}
    assert open_fingering(notebook, fingering).takes == ()
    assert send(client, f"/bin/take/{take}.json", None).status_code == 404
    back = send(client, f"/bin/take/{take}/restore.json", None)
    assert back.json is not None
    assert (back.json["id"], back.json["is_binned"]) == (take, False)
    assert [each["take"] for each in back.json["standings"]] == [take]
    assert len(open_fingering(notebook, fingering).takes) == 1
    assert "was moved to the bin" not in client.get("/").text


def test_the_list_can_hold_tries_that_were_suggested(
    notebook: Notebook, client: Browser, clarinet: int, suggested: int
) -> None:
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_tries(notebook, practice)
    page = client.get(f"/practice/{practice}/stand")
    assert [each["data-take-url"] for each in candidates(page)] == [
        f"/tries/{suggested}/takes.json"
    ]
    assert "its first take logs it" in page.text


def test_the_first_day_is_a_list_whose_held_notes_log_themselves(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    path = f"/instruments/{clarinet}/stand/first-day"
    page = client.get(path)
    places = candidates(page)
    assert len(places) > 8
    assert {each["data-take-url"] for each in places} == {
        f"/instruments/{clarinet}/suggested-takes.json"
    }
    first = json.loads(places[0]["data-fields"])
    assert first["is_known"] == "y"
    written = WrittenPitch.from_canonical(first["meant"])
    clip = tone_wav(sounding_hz(float(written.cents) - 70.0))  # beyond one group of takes
    answer = json_of(send(client, places[0]["data-take-url"], clip, **first))
    kept = open_fingering(notebook, answer["fingering"])
    assert kept.fingering.target_text == first["meant"]
    assert open_try_list(notebook, clarinet).tried == ()  # an ordinary note is no prediction
    assert candidates(client.get(path))[0]["data-take-url"].startswith("/fingerings/")


def test_suggestions_for_an_open_note_come_after_the_stand_is_open(
    client: Browser, clarinet: int, fake_finder: FakeFinder
) -> None:
    del fake_finder
    page = client.get(f"/instruments/{clarinet}/stand?q=D5+-50")
    (item,) = page.find("li", class_="stand-item")
    found = client.get(item.attributes["data-suggestions-url"])
    places = candidates(found)
    assert places
    assert all("data-suggested" in each and "data-is-shared" in each for each in places)
    fields = json.loads(places[0]["data-fields"])
    assert (fields["meant"], fields["keys"]) == ("D5-50c", places[0]["data-keys"])
