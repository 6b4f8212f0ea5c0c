"""Uploads: too large, of a wrong kind, or without a note in them.

Truth: signatures from the formats' own descriptions (PNG: RFC 2083; ELF: System V ABI; ZIP:
APPNOTE 4.3.7; ISO base media "ftyp": ISO/IEC 14496-12; MP3, FLAC, Ogg: written by libsndfile);
pitches by formula.
"""

import io
import zipfile

import pytest

from analysis.recording.formats import ACCEPTED_WORDS
from tests.analysis.recording.tones import Tone
from tests.webapp.browsing import Browser, Page
from tests.webapp.snapshots import snapshot
from tests.webapp.tones import encoded_tone, nan_wav, noise_wav, silent_wav, tone_wav, wav_bytes
from webapp.guards import uploads
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.store.notebook import Notebook

# D5 -50 on a B-flat soprano sounds C5 -50: (7200 - 50 - 6900) / 1200 octaves above A4 = 440 Hz.
TARGET_HZ = 440 * 2 ** (250 / 1200)


def upload(
    client: Browser, fingering: int, sound: bytes, name: str = "take.wav", **fields: str
) -> Page:
    """Attach a recording on the page of a fingering."""
    return client.submit(
        f"/fingerings/{fingering}", f"/fingerings/{fingering}/takes", fields, clip=(sound, name)
    )


def clip_error(page: Page) -> str:
    """What stands beside the file field."""
    (error,) = page.find("p", id="clip-error")
    return error.text


def zip_bytes() -> bytes:
    """A real zip archive with a recording inside."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as archive:
        archive.writestr("take.wav", tone_wav(440.0))
    return written.getvalue()


WRONG_KINDS = {
    "picture.wav": (b"\x89PNG\r\n\x1a\n" + bytes(64), "a picture"),
    "photo.mp3": (b"\xff\xd8\xff\xe0" + bytes(64), "a picture"),
    "words.wav": (b"just some words about a clarinet", "something else"),
    "page.wav": (b"<!doctype html><script>alert(1)</script>", "something else"),
    "program.ogg": (b"\x7fELF\x02\x01\x01" + bytes(64), "something else"),
    "archive.wav": (zip_bytes(), "a zip archive"),
    "score.wav": (b"MThd\0\0\0\6\0\0\0\1\0\x60", "a MIDI file"),
    "paper.wav": (b"%PDF-1.7\n", "a PDF document"),
}


@pytest.mark.parametrize("name", WRONG_KINDS)
def test_what_is_no_recording_is_named_and_refused_whatever_it_is_called(
    notebook: Notebook, client: Browser, fingering: int, name: str
) -> None:
    sound, found = WRONG_KINDS[name]
    before = snapshot(notebook)
    page = upload(client, fingering, sound, name)
    assert page.status == 415
    assert f"This is {found}" in clip_error(page)
    assert f"Save it as {ACCEPTED_WORDS}" in clip_error(page)
    assert snapshot(notebook) == before


@pytest.mark.parametrize("kind", ["flac", "mp3", "ogg"])
def test_a_recording_is_known_by_its_content(
    notebook: Notebook, client: Browser, fingering: int, kind: str
) -> None:
    page = upload(client, fingering, encoded_tone(TARGET_HZ, kind), "holiday.txt")
    assert page.status == 200
    (take,) = open_fingering(notebook, fingering).takes
    assert take.clip_format == kind
    assert take.clip_name.endswith(f".{kind}")
    assert take.original_name == "holiday.txt"
    # Lossy coding moves the pitch of a steady tone by far less than a cent.
    assert open_fingering(notebook, fingering).fingering.offset_cents == pytest.approx(0, abs=0.5)
    served = client.fetch(f"/takes/{take.id}/clip")
    assert served.mimetype in {"audio/flac", "audio/mpeg", "audio/ogg"}


def test_a_damaged_recording_is_refused(client: Browser, fingering: int) -> None:
    page = upload(client, fingering, tone_wav(440.0)[:30])
    assert page.status == 415
    assert clip_error(page)
    assert not page.find("p", class_="answer-number")


def test_an_empty_file_is_refused(client: Browser, fingering: int) -> None:
    page = upload(client, fingering, b"")
    assert page.status == 415
    assert "empty" in clip_error(page)


def test_a_form_without_a_file_says_what_is_missing(client: Browser, fingering: int) -> None:
    path = f"/fingerings/{fingering}"
    page = client.submit(path, f"{path}/takes", dynamic="mf")
    assert page.status == 415
    assert "No recording was chosen" in clip_error(page)
    assert page.form(f"{path}/takes").values["dynamic"] == "mf"


def test_a_text_in_the_place_of_the_file_is_no_file(client: Browser, fingering: int) -> None:
    path = f"/fingerings/{fingering}"
    page = client.get(path)
    answer = client.send(page, page.form(f"{path}/takes"), fields={"clip": "just text"})
    assert answer.status_code == 415
    assert "No recording was chosen" in clip_error(Page(answer))


# sound -> verdict on the page, and the words that say what to do
NOT_USABLE = (
    (silent_wav(), "silence", "check that the microphone was on"),
    (noise_wav(), "noise", "move closer to the microphone"),
    (tone_wav(TARGET_HZ, duration_s=0.15), "too short", "record it again a little longer"),
    (nan_wav(), "unreadable", "damaged"),
)


@pytest.mark.parametrize(
    ("sound", "verdict", "words"), NOT_USABLE, ids=[row[1] for row in NOT_USABLE]
)
def test_a_take_without_a_usable_note_is_kept_with_its_verdict_and_counts_for_nothing(
    notebook: Notebook, client: Browser, fingering: int, sound: bytes, verdict: str, words: str
) -> None:
    page = upload(client, fingering, sound)
    assert page.status == 200
    assert words in page.text
    assert "Not measured yet" in page.text
    shown = open_fingering(notebook, fingering)
    (take,) = shown.takes
    assert take.measurement.verdict == verdict
    assert take.measurement.f0_hz is None
    assert (shown.fingering.take_count, shown.fingering.offset_cents) == (0, None)
    assert words in client.get(f"/takes/{take.id}").text


def test_a_clipped_take_counts_and_carries_its_warning(
    notebook: Notebook, client: Browser, fingering: int
) -> None:
    loud = Tone(TARGET_HZ, duration_s=0.7, sample_rate_hz=22_050, rms=1.5).render()
    page = upload(client, fingering, wav_bytes(loud))
    assert "too loud and is clipped" in page.text
    assert open_fingering(notebook, fingering).fingering.take_count == 1


def test_too_large_a_file_is_413_and_typed_text_survives(
    notebook: Notebook, client: Browser, fingering: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "CLIP_LIMIT_BYTES", 10_000)
    before = snapshot(notebook)
    page = upload(
        client, fingering, tone_wav(TARGET_HZ), dynamic="pp", air_temperature_c="21,5",
        tuning_a_hz="442", recorded_at="2024-05-17",
    )  # fmt: skip
    assert page.status == 413
    assert "a take may have up to" in clip_error(page)
    values = page.form(f"/fingerings/{fingering}/takes").values
    assert values["dynamic"] == "pp"
    assert values["air_temperature_c"] == "21,5"
    assert values["tuning_a_hz"] == "442"
    assert values["recorded_at"] == "2024-05-17"
    assert snapshot(notebook) == before


def test_a_file_just_within_the_limit_is_kept(
    client: Browser, fingering: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = tone_wav(TARGET_HZ)
    monkeypatch.setattr(uploads, "CLIP_LIMIT_BYTES", len(sound))
    assert upload(client, fingering, sound).status == 200


def test_nothing_of_a_file_past_the_limit_is_held(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "CLIP_LIMIT_BYTES", 1_000)
    with uploads.CappedUpload() as stream:
        for _ in range(3):
            stream.write(bytes(400))
        assert stream.is_too_large
        assert stream.received_bytes == 1_200
        stream.seek(0)
        assert stream.read() == b""


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("air_temperature_c", "warm", "is not a number"),
        ("air_temperature_c", "80", "-10 to 45"),
        ("tuning_a_hz", "300", "390"),
        ("tuning_a_hz", "0", "390"),
        ("tuning_a_hz", "nan", "ordinary number"),
        ("dynamic", "louder", "is not one of the choices"),
        ("recorded_at", "31.12.2024", "is not a day"),
        ("recorded_at", "9999-12-31", "lies in the future"),
    ],
)
def test_what_is_said_of_a_take_is_checked_beside_its_field(
    notebook: Notebook, client: Browser, fingering: int, field: str, typed: str, words: str
) -> None:
    before = snapshot(notebook)
    page = upload(client, fingering, tone_wav(TARGET_HZ), **{field: typed})
    assert page.status == 422
    (error,) = page.find("p", id=f"{field}-error")
    assert words in error.text
    assert snapshot(notebook) == before


@pytest.mark.parametrize(
    "name",
    ["../../evil.wav", "/etc/passwd", "C:\\x\\y.wav", "夜明けの音.wav", "a" * 300 + ".wav",
     "con.wav", ".wav"],
)  # fmt: skip
def test_a_clip_is_stored_under_a_name_of_our_own(
    notebook: Notebook, client: Browser, fingering: int, name: str
) -> None:
    outside = sorted(notebook.folder.parent.iterdir())
    assert upload(client, fingering, silent_wav(0.5), name).status == 200
    (take,) = open_fingering(notebook, fingering).takes
    stem, _, ending = take.clip_name.partition(".")
    assert len(stem) == 32
    assert set(stem) <= set("0123456789abcdef")
    assert ending == "wav"
    assert [path.name for path in notebook.clips.folder.iterdir() if path.is_file()] == [
        take.clip_name
    ]
    assert len(take.original_name) <= 255
    assert take.original_name.endswith(".wav") or name == "/etc/passwd"
    assert sorted(notebook.folder.parent.iterdir()) == outside
