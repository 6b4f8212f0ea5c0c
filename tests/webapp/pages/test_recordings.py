"""The pages of long recordings."""

from collections.abc import Iterator

import pytest
from flask import Flask
from sqlalchemy import update

from tests.webapp.browsing import SAME_ORIGIN, Browser, Page
from tests.webapp.logging_rows import log
from tests.webapp.playing import evening_wav, sounding_hz
from webapp.guards import uploads
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.recordings import long_takes
from webapp.notebook.recordings.note_proposals import Wish
from webapp.notebook.recordings.recordings import (
    find_recording_clip,
    list_recordings,
    open_recording,
)
from webapp.notebook.recordings.splitter import Background
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Segment

PLAYED = (7352.0, 8146.0, 6500.0)


@pytest.fixture
def fingerings(notebook: Notebook, clarinet: int) -> tuple[int, int]:
    return (
        log(notebook, clarinet, "D5 -50", "T R 123 | 12-"),
        log(notebook, clarinet, "A5 +50", "T R (1)2- | ---"),
    )


@pytest.fixture
def background(app: Flask) -> Iterator[Background]:
    worker: Background = app.extensions["background"]
    yield worker
    worker.stop(30)


@pytest.fixture
def recording(client: Browser, clarinet: int, background: Background) -> str:
    """The address of a recording that is split."""
    page = send(client, clarinet)
    assert background.wait(60)
    return page.response.request.path


def send(client: Browser, clarinet: int, *, sound: bytes | None = None, **typed: str) -> Page:
    sound = evening_wav([sounding_hz(each) for each in PLAYED]) if sound is None else sound
    path = f"/instruments/{clarinet}/recordings"
    return client.submit(path, clip=(sound, "=evening<b>.wav"), typed=typed)


def test_a_recording_is_taken_in_and_its_progress_told(
    client: Browser, clarinet: int, background: Background, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(background, "wake", lambda: None)  # nobody works yet
    page = send(client, clarinet, dynamic="p")
    assert page.status == 200
    (bar,) = page.find("progress")
    assert bar.attributes["value"] == "0.00"
    path = page.response.request.path
    assert page.find("a", href=path), "without scripts the page is opened again"
    told = client.fetch(f"{path}/progress")
    assert told.get_json() == {
        "is_at_work": True,
        "done_share": 0.0,
        "words": "Looking for the notes: 0%",
    }
    monkeypatch.undo()
    client.submit(path, "/again")
    assert background.wait(60)
    assert client.fetch(f"{path}/progress").get_json()["is_at_work"] is False


def test_the_same_recording_again_is_refused_with_the_way_to_the_one_that_is_there(
    client: Browser, clarinet: int, background: Background, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(background, "wake", lambda: None)  # nobody works on it
    first = send(client, clarinet)
    again = send(client, clarinet)
    assert again.status == 409
    (error,) = again.find("p", id="clip-error")
    assert "in the notebook already" in error.text
    ways = again.find("a", href=first.response.request.path)
    assert "The recording that is there" in [each.text for each in ways]


def test_the_notes_are_listed_with_sound_and_proposal(
    client: Browser, recording: str, fingerings: tuple[int, int]
) -> None:
    page = client.get(recording)
    assert "3 notes were found" in page.text
    clips = [each.attributes["src"] for each in page.find("audio")]
    assert len(clips) == len(PLAYED)
    assert all(each.startswith(f"{recording}/clip#t=") for each in clips)
    form = page.form("/notes")
    chosen = [value for name, value in form.values.items() if name.startswith("note-")]
    assert chosen == [str(fingerings[0]), str(fingerings[1]), ""]
    assert "D quarter-flat 5 +2" in page.text
    assert "=evening<b>.wav" in page.find("h1")[0].text
    assert "<b>" not in page.html


def test_what_is_no_held_note_is_called_what_it_is(
    client: Browser, recording: str, notebook: Notebook
) -> None:
    found: dict[int, dict[str, object]] = {
        1: {"verdict": "trill", "f0_hz": None, "low_hz": 392.0, "high_hz": 440.0, "rate_hz": 6.24},
        2: {"rate_hz": 23.6},
        3: {"verdict": "multiphonic", "f0_hz": None},
    }
    with notebook.database.writing() as session:
        for position, values in found.items():
            session.execute(update(Segment).where(Segment.position == position).values(values))
    page = client.get(recording)
    assert "Trill from A4 to B4, 6.2 times a second" in page.text
    assert "cents, flutter-tongued, 23.6 times a second" in page.text
    assert "Multiphonic" in page.text
    select = page.find("select")[0]
    assert "an unsorted take" in select.text


def test_all_proposals_are_kept_at_once(
    client: Browser, recording: str, fingerings: tuple[int, int], background: Background
) -> None:
    client.submit(recording, "/notes")
    assert background.wait(60)
    page = client.get(recording)
    assert page.text.count("Kept as a take") == 2
    entry = client.get(f"/fingerings/{fingerings[0]}")
    assert entry.find("span", class_="answer-number")[0].text == "+2.0"


def test_a_choice_of_the_player_wins_and_the_rest_can_be_discarded(
    client: Browser, recording: str, fingerings: tuple[int, int], background: Background
) -> None:
    names = [name for name in client.get(recording).form("/notes").values if name[:5] == "note-"]
    typed = {names[0]: "discard", names[1]: "", names[2]: str(fingerings[0])}
    client.submit(recording, "/notes", typed=typed)
    assert background.wait(60)
    values = client.get(recording).form("/notes").values
    assert values[names[0]] == "discard"
    assert names[2] not in values


def test_proposals_in_order_are_asked_for_by_address(
    client: Browser, recording: str, fingerings: tuple[int, int]
) -> None:
    page = client.get(f"{recording}?order=falling&of={fingerings[0]}&of={fingerings[1]}&of=x")
    chosen = [value for name, value in page.form("/notes").values.items() if "note-" in name]
    assert chosen == [str(fingerings[1]), str(fingerings[0]), ""]
    assert client.get(f"{recording}?order=nonsense").status == 200


def test_a_foreign_choice_is_refused_on_the_page(
    client: Browser, recording: str, fingerings: tuple[int, int]
) -> None:
    del fingerings
    page = client.get(recording)
    form = page.form("/notes")
    name = next(each for each in form.values if each.startswith("note-"))
    answer = Page(client.send(page, form, fields={name: "999"}))
    assert answer.status == 422
    assert "not among those of this instrument" in answer.text


def test_the_clip_is_handed_out_in_parts(client: Browser, recording: str) -> None:
    part = client.fetch(f"{recording}/clip", {"Range": "bytes=0-3"})
    assert (part.status_code, part.data, part.mimetype) == (206, b"RIFF", "audio/wav")


def test_a_recording_goes_into_the_bin_and_back(
    client: Browser, recording: str, clarinet: int
) -> None:
    number = recording.rpartition("/")[2]
    page = client.submit(recording, f"/bin/recording/{number}")
    assert page.response.request.path == f"/instruments/{clarinet}/recordings"
    assert client.get(recording).status == 404
    assert "long recording on B-flat" in client.get("/bin/").text
    back = client.submit("/bin/", f"/bin/recording/{number}/restore")
    assert back.response.request.path == recording


@pytest.mark.parametrize(
    ("sound", "status", "words"),
    [(b"Dear reader", 415, "recording"), (b"", 415, "empty")],
)
def test_what_is_no_recording_is_refused_with_the_rest_kept(
    client: Browser, clarinet: int, sound: bytes, status: int, words: str
) -> None:
    page = send(client, clarinet, sound=sound, dynamic="ff")
    assert page.status == status
    assert words in page.find("p", id="clip-error")[0].text
    assert page.form().values["dynamic"] == "ff"


def test_nothing_chosen_and_a_day_to_come_are_refused(client: Browser, clarinet: int) -> None:
    path = f"/instruments/{clarinet}/recordings"
    page = client.get(path)
    assert "No recording was chosen" in Page(client.send(page, page.form())).text
    page = send(client, clarinet, recorded_at="2999-01-01")
    assert page.status == 422
    assert "lies in the future" in page.text
    page = send(client, clarinet, air_temperature_c="hot")
    assert page.status == 422


def test_a_long_recording_may_be_longer_than_a_take_but_not_without_end(
    client: Browser, clarinet: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = evening_wav([440.0])
    monkeypatch.setattr(uploads, "CLIP_LIMIT_BYTES", 1_000)
    monkeypatch.setattr(uploads, "LONG_LIMIT_BYTES", len(sound))
    monkeypatch.setattr(Background, "wake", lambda _: None)
    assert send(client, clarinet, sound=sound).find("progress")
    monkeypatch.setattr(uploads, "LONG_LIMIT_BYTES", len(sound) - 1)
    page = send(client, clarinet, sound=sound)
    assert page.status == 413
    assert "a long recording may have up to" in page.text


def test_what_failed_says_why_and_can_be_tried_again(
    client: Browser, clarinet: int, background: Background
) -> None:
    page = send(client, clarinet, sound=evening_wav([440.0])[:40])
    path = page.response.request.path
    assert background.wait(60)
    page = client.get(path)
    assert page.find("div", class_="problem")
    client.submit(path, "/again")
    assert background.wait(60)
    assert client.get(path).find("div", class_="problem")


@pytest.mark.parametrize(
    "path",
    [
        "/recordings/9",
        f"/recordings/{2**64}",
        "/recordings/9/progress",
        "/recordings/9/clip",
        "/instruments/9/recordings",
    ],
)
def test_what_is_not_there_is_404(client: Browser, path: str) -> None:
    assert client.get(path).status == 404


@pytest.mark.parametrize("action", ["notes", "again"])
def test_forms_of_a_recording_that_is_not_there_lead_nowhere(
    client: Browser, clarinet: int, action: str
) -> None:
    page = client.get(f"/instruments/{clarinet}/recordings")
    form = page.form()
    form.action = f"/recordings/99/{action}"
    assert client.send(page, form).status_code == 404


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/recordings/1/notes"),
        ("GET", "/recordings/1/again"),
        ("POST", "/recordings/1"),
        ("POST", "/recordings/1/progress"),
        ("POST", "/recordings/1/clip"),
        ("DELETE", "/instruments/1/recordings"),
    ],
)
def test_the_wrong_method_is_405(client: Browser, method: str, path: str) -> None:
    assert client.open(path, SAME_ORIGIN, method=method).status_code == 405


def test_a_long_file_at_a_fingering_becomes_a_long_recording(
    client: Browser,
    fingerings: tuple[int, int],
    notebook: Notebook,
    background: Background,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(long_takes, "LONGEST_WAITED_FOR_S", 1.0)
    background.stop(1)  # the server is killed before anything is done about it
    sound = evening_wav([sounding_hz(each) for each in PLAYED])
    entry = f"/fingerings/{fingerings[0]}"
    typed = {"dynamic": "p", "air_temperature_c": "21"}
    page = client.submit(entry, "/takes", clip=(sound, "long.wav"), typed=typed)
    assert page.status == 200
    path = page.response.request.path
    assert path.startswith("/recordings/")
    assert "longer than one held note" in page.text
    assert open_fingering(notebook, fingerings[0]).takes == ()
    recording, file = find_recording_clip(notebook, int(path.rpartition("/")[2]))
    assert file.read_bytes() == sound
    assert (recording.dynamic, recording.air_temperature_c) == ("p", 21.0)

    later = Background(notebook)
    later.wake()
    assert later.wait(60)
    found = open_recording(notebook, recording.id, Wish()).found
    assert len(found) == len(PLAYED)
    assert [each.proposed_id for each in found].count(fingerings[0]) == 1


def test_a_long_file_that_comes_with_a_new_fingering_leaves_both_kept(
    client: Browser,
    clarinet: int,
    notebook: Notebook,
    background: Background,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(long_takes, "LONGEST_WAITED_FOR_S", 1.0)
    monkeypatch.setattr(background, "wake", lambda: None)
    sound = evening_wav([sounding_hz(each) for each in PLAYED])
    page = client.submit(
        f"/instruments/{clarinet}/fingerings/new",
        clip=(sound, "long.wav"),
        typed={"target": "D5 -50", "keys_text": "T R 123 | 12-"},
    )
    assert page.response.request.path.startswith("/recordings/")
    (whole,) = list_recordings(notebook, clarinet)
    assert whole.byte_count == len(sound)
    of = int(page.response.request.args["of"])
    assert open_fingering(notebook, of).takes == ()
