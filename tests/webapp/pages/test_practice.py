"""The pages of practices."""

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.playing import sounding_hz
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.practice import tuning_notes
from webapp.notebook.practice.practice import PracticeDraft, end_practice, start_practice
from webapp.notebook.practice.tuning_notes import choose_tuning_take
from webapp.notebook.store.notebook import Notebook

HOSTILE = "<script>alert(1)</script>"


@pytest.fixture
def practice(notebook: Notebook, clarinet: int) -> int:
    return start_practice(notebook, clarinet, PracticeDraft(442.0, 18.5, HOSTILE))


def test_a_practice_is_begun_shown_and_ended(client: Browser, clarinet: int) -> None:
    page = client.submit(
        f"/instruments/{clarinet}/practice",
        tuning_a_hz="442,5",
        air_temperature_c="18.5",
        notes="cold room",
    )
    assert page.status == 200
    for words in ("A = 442.5 Hz", "air 18.5 °C", "cold room", "no usable tuning note"):
        assert words in page.text
    path = page.response.request.path
    page = client.submit(path, f"{path}/end")
    assert "ended" in page.text
    assert "Begin a session" in client.get(f"/instruments/{clarinet}/practice").text
    assert client.get(f"/instruments/{clarinet}/practice").find("a", href=path)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"tuning_a_hz": "300"}, "390"),
        ({"tuning_a_hz": "loud"}, "is not a number"),
        ({"air_temperature_c": "99"}, "99 °C"),
    ],
)
def test_what_cannot_be_is_said_beside_the_field(
    client: Browser, clarinet: int, typed: dict[str, str], words: str
) -> None:
    page = client.submit(f"/instruments/{clarinet}/practice", typed=typed, notes="kept")
    assert page.status == 422
    assert words in page.text
    assert page.form().values["notes"] == "kept"


def test_a_second_practice_is_not_offered_and_not_begun(client: Browser, clarinet: int) -> None:
    path = f"/instruments/{clarinet}/practice"
    page = client.get(path)
    client.follow(client.send(page, page.form()))
    again = client.follow(client.send(page, page.form()))
    assert again.status == 422
    assert "open already" in again.text or "Go on with it" in again.text


def test_a_recorded_tuning_note_moves_what_is_shown(
    notebook: Notebook, client: Browser, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    take = take_maker(notebook, fingering, sounding_hz(7350 + 3, a4_hz=442.0))
    assert "no tuning note" in client.get(f"/practice/{practice}").text
    assert "no usable tuning note" in client.get(f"/takes/{take}").text
    assert "For 1 take the session has no tuning" in client.get(f"/fingerings/{fingering}").text

    sound = tone_wav(442.0 * 2 ** (-5 / 1200), 0.8)
    page = client.submit(
        f"/practice/{practice}", "/tuning-note", clip=(sound, "a.wav"), written="B4"
    )
    assert page.find("span", class_="tuning-number")[0].text == "−5.0"
    assert "+8.0 ±" in page.text
    assert "+8.0 ±" in client.get(f"/takes/{take}").text
    entry = client.get(f"/fingerings/{fingering}").text
    assert "from the tuning note of the day (1 take)" in entry
    assert "From the day’s note" in entry
    clip = client.fetch(f"/practice/{practice}/tuning-note/clip")
    assert (clip.status_code, clip.mimetype, clip.data) == (200, "audio/wav", sound)


def test_two_notes_say_what_the_day_did_and_one_can_be_left_out(
    notebook: Notebook, client: Browser, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    take_maker(notebook, fingering, sounding_hz(7350, a4_hz=442.0))
    path = f"/practice/{practice}"
    # 4 cents warm and 1 mm pulled: about 7 and 3 cents lower (open G4 and B4)
    for written, cents, pulled in (("G4", 6700, 7.0), ("B4", 7100, 3.0)):
        sound = tone_wav(sounding_hz(cents + 4.0 - pulled, a4_hz=442.0), 0.8)
        page = client.submit(path, "/tuning-note", clip=(sound, "a.wav"), written=written)
    assert [each.text for each in page.find("span", class_="tuning-number")] == ["−3.0", "+1.0"]
    assert "as if pulled 1.0 ± 0.5 mm" in page.text
    assert page.find("span", class_="practice-state")[0].text == "cold"

    page = client.submit(path, "/tuning-notes/1/leave-out", is_left_out="y")
    assert "Left out: G4" in page.text and "cannot tell a cold instrument" in page.text
    page = client.submit(path, "/tuning-notes/1/leave-out")
    assert "Left out" not in page.text


def test_reed_and_barrel_belong_to_the_day(client: Browser, clarinet: int) -> None:
    begun = client.submit(f"/instruments/{clarinet}/practice", reed="3, dark", barrel_pull_mm="0,5")
    for words in ("Reed: 3, dark", "Barrel pulled 0.5 mm"):
        assert words in begun.text
    path = begun.response.request.path
    page = client.submit(path, f"{path}/facts", reed="", barrel_pull_mm="")
    assert "Reed:" not in page.text and "Barrel pulled 0.5" not in page.text
    page = client.submit(path, f"{path}/facts", barrel_pull_mm="30")
    assert page.status == 422
    assert "A barrel pulled by 30 mm" in page.text


def test_what_a_warmer_room_does_is_said_from_two_days_on(
    notebook: Notebook, client: Browser, clarinet: int, take_maker: TakeMaker
) -> None:
    b4 = log(notebook, clarinet, "B4", "T R 123 | 123 | right E")
    words = "a warmer room raises the pitch by"
    for air_c in (16.0, 24.0):
        assert words not in client.get(f"/instruments/{clarinet}/practice").text
        practice = start_practice(notebook, clarinet, PracticeDraft(air_temperature_c=air_c))
        take = take_maker(notebook, b4, sounding_hz(7100 + 1.5 * air_c - 30))
        choose_tuning_take(notebook, practice, take)
        end_practice(notebook, practice)
    # both days and the prior say 1.5; 1 / sqrt(1 + 2 x 4^2 / (4^2 + 0.5^2 + 0.9^2)) = 0.6
    page = client.get(f"/instruments/{clarinet}/practice")
    assert f"{words} 1.5 ± 0.6 cents a degree, from 2 days" in page.text


def test_a_take_of_the_practice_can_be_the_tuning_note(
    notebook: Notebook, client: Browser, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "B4", "T R 123 | 123")
    take = take_maker(notebook, fingering, sounding_hz(7106, a4_hz=442.0))
    page = client.submit(f"/practice/{practice}", "/tuning-take", take=str(take))
    assert page.find("span", class_="tuning-number")[0].text == "+6.0"
    assert "is the note" in page.text
    assert "This take is a tuning note" in client.get(f"/takes/{take}").text


def test_another_take_is_refused(
    notebook: Notebook, client: Browser, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "B4", "T R 123 | 123")
    take_maker(notebook, fingering, 440.0)
    page = client.submit(f"/practice/{practice}", "/tuning-take", take="999")
    assert page.status == 422
    assert "one of the takes of this session" in page.text


@pytest.mark.parametrize(
    ("written", "clip", "status", "words"),
    [
        ("B4", (noise_wav(), "a.wav"), 415, "note"),
        ("B4", (b"Dear reader", "a.wav"), 415, "recording"),
        ("B4", (b"", ""), 415, "No recording was chosen"),
        ("", (tone_wav(440.0), "a.wav"), 422, "which note it is"),
        ("spoon", (tone_wav(440.0), "a.wav"), 422, "spoon"),
        ("C5", (tone_wav(440.0), "a.wav"), 422, "another note"),
    ],
)
def test_a_tuning_note_that_is_none_is_refused_with_the_text_kept(
    client: Browser,
    practice: int,
    written: str,
    clip: tuple[bytes, str],
    status: int,
    words: str,
) -> None:
    page = client.submit(f"/practice/{practice}", "/tuning-note", clip=clip, written=written)
    assert page.status == status
    assert words in page.text
    assert page.form("/tuning-note").values["written"] == written


def test_an_open_practice_is_named_where_takes_are_attached(
    notebook: Notebook, client: Browser, clarinet: int, practice: int
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    page = client.get(f"/fingerings/{fingering}")
    assert page.find("a", href=f"/practice/{practice}")
    assert "A = 442 Hz, 18.5 °C" in page.text


def test_notes_of_a_practice_are_text(client: Browser, practice: int) -> None:
    page = client.get(f"/practice/{practice}")
    assert HOSTILE not in page.html
    assert HOSTILE in page.text


@pytest.mark.parametrize(
    "path", ["/practice/9", f"/practice/{2**64}", "/practice/9/tuning-note/clip", "/practice/x"]
)
def test_what_is_not_there_is_404(client: Browser, path: str) -> None:
    assert client.get(path).status == 404


def test_a_tuning_note_longer_than_a_note_is_refused_unmeasured(
    client: Browser, practice: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tuning_notes, "LONGEST_WAITED_FOR_S", 0.5)
    page = client.submit(
        f"/practice/{practice}", "/tuning-note", clip=(tone_wav(440.0), "a.wav"), written="B4"
    )
    assert page.status == 422
    assert "one held note may last" in page.text
    assert page.form("/tuning-note").values["written"] == "B4"


def test_a_practice_without_a_recorded_note_has_no_clip(client: Browser, practice: int) -> None:
    assert client.get(f"/practice/{practice}/tuning-note/clip").status == 404


@pytest.mark.parametrize("action", ["end", "tuning-take", "tuning-note"])
def test_forms_of_a_practice_that_is_not_there_lead_nowhere(
    client: Browser, practice: int, action: str
) -> None:
    page = client.get(f"/practice/{practice}")
    form = page.forms[0]
    form.action = f"/practice/99/{action}"
    assert client.send(page, form, fields={"written": "B4"}).status_code == 404


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/practice/1/end"),
        ("GET", "/practice/1/tuning-take"),
        ("GET", "/practice/1/tuning-note"),
        ("POST", "/practice/1"),
        ("PUT", "/instruments/1/practice"),
    ],
)
def test_the_wrong_method_is_405(client: Browser, practice: int, method: str, path: str) -> None:
    del practice
    assert client.open(path, SAME_ORIGIN, method=method).status_code == 405
