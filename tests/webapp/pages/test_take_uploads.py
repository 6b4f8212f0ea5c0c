"""Takes that the page's microphone sends, in JSON.

Truth: frequencies by closed formula; RFC 9110 for statuses (201 created, 405 with Allow, 413, 415,
422); ISO 8601 for moments.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from analysis.recording import DecoderFault
from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled
from tests.webapp.pages.sending import TARGET_HZ, error_of, json_of, send
from tests.webapp.snapshots import snapshot
from tests.webapp.tones import noise_wav, tone_wav
from webapp.app import create_app
from webapp.guards import uploads
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.takes import open_take
from webapp.presenting.json_answers import refuse


def test_a_take_is_kept_and_answered_with_its_result(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    path = f"/fingerings/{rows.base}/takes.json"

    answer = send(
        filled_client,
        path,
        tone_wav(TARGET_HZ * 2 ** (14 / 1200), seed=5),
        dynamic="p",
        air_temperature_c="19,5",
        tuning_a_hz="440",
    )

    assert answer.status_code == 201
    result = json_of(answer)
    assert set(result) == {
        "take", "fingering", "verdict", "is_usable", "words", "offset_cents", "uncertainty_cents",
        "spread_cents", "f0_hz", "warnings", "pooled", "url", "figure", "counts", "standing",
        "played", "standings",
    }  # fmt: skip
    assert result["verdict"] == "ok" and result["is_usable"] is True
    assert result["offset_cents"] == pytest.approx(14, abs=0.05)
    assert result["f0_hz"] == pytest.approx(TARGET_HZ * 2 ** (14 / 1200), rel=1e-4)
    assert result["figure"] == "+14.0 ± 0.1 cents"
    assert (result["counts"], result["standing"]) == (True, [])
    assert result["pooled"]["take_count"] == 2
    assert result["pooled"]["offset_cents"] == pytest.approx(12, abs=0.1)  # between 10 and 14
    assert filled_client.get(result["url"]).status == 200
    take = open_take(notebook, result["take"]).take
    assert (take.fingering_id, take.dynamic, take.air_temperature_c) == (rows.base, "p", 19.5)
    assert take.original_name == "take.wav"


def test_nothing_flashes_on_the_next_page(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    json_of(send(filled_client, f"/fingerings/{rows.child}/takes.json", tone_wav(500.0)))
    assert not filled_client.get(f"/fingerings/{rows.child}").find("div", class_="notice")


def test_a_take_without_a_pitch_is_kept_with_its_verdict_and_counts_for_nothing(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    answer = send(filled_client, f"/fingerings/{rows.child}/takes.json", noise_wav())
    result = json_of(answer)
    assert answer.status_code == 201
    assert (result["verdict"], result["is_usable"]) == ("noise", False)
    assert result["offset_cents"] is result["f0_hz"] is result["pooled"] is None
    assert "no tone" in result["words"]


def test_what_the_measurement_warns_of_is_said_in_sentences(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    far = tone_wav(TARGET_HZ * 2 ** (300 / 1200))
    result = json_of(send(filled_client, f"/fingerings/{rows.base}/takes.json", far))
    assert any("a semitone or more from the note" in each for each in result["warnings"])


def test_the_same_recording_again_is_answered_with_the_take_that_is_there(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    path = f"/fingerings/{rows.child}/takes.json"
    sound = tone_wav(505.0, seed=6)
    first = send(filled_client, path, sound)
    count = len(notebook.clips.names())
    again = send(filled_client, path, sound)
    assert (first.status_code, again.status_code) == (201, 200)
    assert json_of(again) == json_of(first)
    assert len(notebook.clips.names()) == count


def test_the_same_recording_may_belong_to_two_fingerings(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    sound = tone_wav(505.0, seed=7)
    for number in (rows.child, rows.base):
        answer = send(filled_client, f"/fingerings/{number}/takes.json", sound)
        assert answer.status_code == 201


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("2024-03-09T17:30:00Z", datetime(2024, 3, 9, 17, 30, tzinfo=UTC)),
        ("2024-03-09T17:30:00.250+01:00", datetime(2024, 3, 9, 16, 30, 0, 250_000, tzinfo=UTC)),
        ("2024-03-09T23:30:00-05:30", datetime(2024, 3, 10, 5, 0, tzinfo=UTC)),
    ],
)
def test_a_take_that_waited_keeps_the_moment_it_was_played(
    filled: tuple[Notebook, Filled], filled_client: Browser, said: str, kept: datetime
) -> None:
    notebook, rows = filled
    path = f"/fingerings/{rows.child}/takes.json"
    result = json_of(send(filled_client, path, tone_wav(505.0), recorded_at=said))
    assert open_take(notebook, result["take"]).take.recorded_at == kept


def test_a_take_kept_by_an_earlier_version_comes_with_the_field_names_of_that_time(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    address = f"/fingerings/{rows.child}/takes.json"
    kept = {"dynamic": "mf", "air_temperature_c": "19", "take_tuning_a_hz": "441.0"}
    played = "2024-03-09T17:30:00Z"
    sound = tone_wav(505.0, seed=8)
    take_id = json_of(send(filled_client, address, sound, kept, recorded_at=played))["take"]
    take = open_take(notebook, take_id).take
    assert (take.dynamic, take.air_temperature_c, take.tuning_a_hz) == ("mf", 19.0, 441.0)
    assert take.recorded_at == datetime(2024, 3, 9, 17, 30, tzinfo=UTC)

    dated = json_of(send(filled_client, address, tone_wav(506.0), recorded_on="2024-03-09"))
    moment = open_take(notebook, dated["take"]).take.recorded_at
    assert moment == datetime(2024, 3, 9, 12, tzinfo=UTC)
    refused = error_of(send(filled_client, address, tone_wav(507.0), take_tuning_a_hz="300"))
    assert (refused["field"], "300" in refused["message"]) == ("tuning_a_hz", True)


FIELDS = {
    "no moment": ("recorded_at", {"recorded_at": "yesterday"}, "not a moment"),
    "a moment without zone": ("recorded_at", {"recorded_at": "2024-03-09T17:30:00"}, "its zone"),
    "before all time": ("recorded_at", {"recorded_at": "0001-01-01T00:00:00+05:00"}, "moment"),
    "a dynamic of no use": ("dynamic", {"dynamic": "fff"}, "choice"),
    "no number": ("air_temperature_c", {"air_temperature_c": "warm"}, "not a number"),
    "too hot": ("air_temperature_c", {"air_temperature_c": "80"}, "80 °C"),
    "tuning out of range": ("tuning_a_hz", {"tuning_a_hz": "300"}, "300"),
}


@pytest.mark.parametrize("name", FIELDS)
def test_a_field_that_cannot_be_kept_is_named(
    filled: tuple[Notebook, Filled], filled_client: Browser, name: str
) -> None:
    notebook, rows = filled
    field, said, words = FIELDS[name]
    before = snapshot(notebook)
    answer = send(filled_client, f"/fingerings/{rows.base}/takes.json", tone_wav(505.0), said)
    assert answer.status_code == 422
    error = error_of(answer)
    assert (error["kind"], error["field"]) == ("field", field)
    assert words in error["message"]
    assert snapshot(notebook) == before


def test_a_moment_may_lie_a_day_ahead_and_no_more(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/fingerings/{filled[1].child}/takes.json"
    now = datetime.now(UTC)
    near = (now + timedelta(hours=23)).isoformat()
    far = (now + timedelta(hours=25)).isoformat()
    assert send(filled_client, path, tone_wav(505.0), recorded_at=near).status_code == 201
    answer = send(filled_client, path, tone_wav(506.0), recorded_at=far)
    assert answer.status_code == 422
    assert error_of(answer)["field"] == "recorded_at"


@pytest.mark.parametrize(
    ("clip", "status", "kind", "words"),
    [
        (None, 415, "not-a-recording", "No recording was chosen"),
        (b"", 415, "not-a-recording", "empty"),
        (b"Dear reader", 415, "not-a-recording", "something else"),
        (tone_wav(505.0)[:44], 415, "not-a-recording", "no sound"),
    ],
)
def test_what_is_no_recording_is_refused(
    filled: tuple[Notebook, Filled],
    filled_client: Browser,
    clip: bytes | None,
    status: int,
    kind: str,
    words: str,
) -> None:
    notebook, rows = filled
    before = snapshot(notebook)
    answer = send(filled_client, f"/fingerings/{rows.base}/takes.json", clip)
    assert answer.status_code == status
    error = error_of(answer)
    assert error["kind"] == kind and words in error["message"]
    assert snapshot(notebook) == before


def test_a_clip_that_is_too_large_is_refused(
    filled: tuple[Notebook, Filled], filled_client: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "CLIP_LIMIT_BYTES", 1000)
    answer = send(filled_client, f"/fingerings/{filled[1].base}/takes.json", tone_wav(505.0))
    assert answer.status_code == 413
    assert error_of(answer)["kind"] == "too-large"


def test_a_body_beyond_all_bounds_is_refused_in_json_too(
    filled: tuple[Notebook, Filled],
) -> None:
    app = create_app(filled[0])
    app.config["MAX_CONTENT_LENGTH"] = 1000
    path = f"/fingerings/{filled[1].base}/takes.json"
    answer = send(Browser(app), path, tone_wav(505.0))
    assert answer.status_code == 413
    assert error_of(answer)["kind"] == "too-large"


def test_what_is_not_there_or_in_the_bin_is_not_found(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    for path in (
        "/fingerings/999/takes.json",
        f"/fingerings/{rows.binned_fingering}/takes.json",
        "/practice/999/tuning-note.json",
        "/nothing-there.json",
    ):
        answer = send(filled_client, path, tone_wav(505.0), written="A4")
        assert answer.status_code == 404, path
        assert error_of(answer)["kind"] == "not-found"
    answer = send(filled_client, f"/fingerings/{rows.binned_fingering}/takes.json", tone_wav(505.0))
    assert "bin" in error_of(answer)["message"]


@pytest.mark.parametrize("path", ["/fingerings/1/takes.json", "/practice/1/tuning-note.json"])
@pytest.mark.parametrize("method", ["GET", "HEAD", "PUT", "DELETE"])
def test_takes_are_posted_and_nothing_else(
    filled: tuple[Notebook, Filled], filled_client: Browser, path: str, method: str
) -> None:
    before = snapshot(filled[0])
    answer = filled_client.open(path, SAME_ORIGIN, method=method)
    assert answer.status_code in (400, 405)  # the token is asked for before the method is known
    if method in ("GET", "HEAD"):
        assert answer.status_code == 405
        assert "POST" in answer.headers["Allow"]
    if method == "GET":
        assert error_of(answer)["kind"] == "method"
    assert snapshot(filled[0]) == before


def test_what_is_unforeseen_tells_no_more_than_that(
    filled: tuple[Notebook, Filled], filled_client: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("secret")

    monkeypatch.setattr("webapp.pages.take_uploads.attach_take", fail)
    answer = send(filled_client, f"/fingerings/{filled[1].base}/takes.json", tone_wav(505.0))
    assert answer.status_code == 500
    error = error_of(answer)
    assert error["kind"] == "unforeseen" and "secret" not in answer.text


def test_a_fault_of_ours_leaves_a_take_to_be_sent_again_and_is_logged(
    filled: tuple[Notebook, Filled],
    filled_client: Browser,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    def fail(*_: object, **__: object) -> None:
        fault = DecoderFault("This program failed; the recording may be sound.")
        fault.add_note("In the decoding child: TypeError at ffmpeg.py:60")
        raise fault

    monkeypatch.setattr("webapp.notebook.takes.incoming.measure_recording", fail)
    before = snapshot(filled[0])
    answer = send(filled_client, f"/fingerings/{filled[1].base}/takes.json", tone_wav(505.0))
    assert answer.status_code == 500  # below 500 the browser would take it off the way
    assert "may be sound" in error_of(answer)["message"]
    assert snapshot(filled[0]) == before
    assert "TypeError at ffmpeg.py:60" in caplog.text


def test_a_status_without_a_name_of_its_own_is_unforeseen(filled: tuple[Notebook, Filled]) -> None:
    with create_app(filled[0]).test_request_context("/x.json"):
        answer = refuse(418, "words")
    assert answer.get_json() == {"error": {"kind": "unforeseen", "message": "words"}}


def test_each_answer_says_how_the_takes_before_it_stand_now(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    """Three takes that agree elsewhere outvote two; one of them binned, the nearer two count."""
    path = f"/fingerings/{filled[1].base}/takes.json"
    answers = [
        json_of(send(filled_client, path, tone_wav(TARGET_HZ * 2 ** (cents / 1200), seed=seed)))
        for seed, cents in enumerate((5.0, 195.0, 200.0, 205.0))
    ]
    first, second = answers[0]["take"], answers[1]["take"]

    def standing(answer: dict[str, Any]) -> tuple[bool, bool]:
        (found,) = [each for each in answer["standings"] if each["take"] == first]
        return found["counts"], bool(found["standing"])

    assert [standing(each) for each in answers] == [(True, False)] * 3 + [(False, True)]
    assert answers[3]["pooled"]["take_count"] == 3

    binned = json_of(send(filled_client, f"/bin/take/{second}.json", None))
    assert second not in [each["take"] for each in binned["standings"]]
    assert standing(binned) == (True, False)
    assert binned["pooled"]["take_count"] == 2
