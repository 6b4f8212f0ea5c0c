"""The page of a take."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from analysis.recording import TakeWarning, Verdict
from analysis.recording.measurement import Component
from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled, TakeMaker, add_clarinet, log
from tests.webapp.tones import tone_wav
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.takes import find_clip, moment_of_day


def test_a_take_shows_what_was_measured_and_said(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/takes/{rows.take}")
    assert page.find("span", class_="answer-number")[0].text == "+10.0"
    for words in ("held note.wav", "mf", "21.5 °C", "440 Hz", "SHA-256", "median of the steady"):
        assert words in page.text
    assert page.find("audio", src=f"/takes/{rows.take}/clip")
    assert len(page.find("svg")) >= 3


def test_a_take_without_a_pitch_shows_its_verdict(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/takes/{filled[1].noise_take}")
    assert "Noise" in page.text
    assert "Hz, median" not in page.text


def test_a_take_whose_colour_could_not_be_measured_is_shown_all_the_same(
    notebook: Notebook, client: Browser, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, add_clarinet(notebook), "D5 -50", "T R 123 | 12-")
    take = take_maker(notebook, fingering, 508.4)  # no brightness, no trace, no spectrum
    assert client.get(f"/takes/{take}").status == 200
    assert client.get(f"/fingerings/{fingering}").status == 200


def test_a_second_take_pools_with_the_first(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    path = f"/fingerings/{rows.base}"
    sound = tone_wav(440 * 2 ** ((225 + 14) / 1200), seed=3)
    page = filled_client.submit(path, f"{path}/takes", clip=(sound, "second.wav"))
    assert page.find("span", class_="answer-number")[0].text == "+12.0"  # between 10 and 14
    assert "measured, 2 takes" in page.text


def test_the_same_recording_again_is_a_conflict_said_beside_the_file(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    path = f"/fingerings/{rows.base}"
    sound = filled_client.fetch(f"/takes/{rows.take}/clip").data
    before = notebook.clips.names()
    page = filled_client.submit(path, f"{path}/takes", clip=(sound, "again.wav"), dynamic="f")
    assert page.status == 409
    (error,) = page.find("p", id="clip-error")
    assert "attached to this fingering already" in error.text
    assert error.text.endswith("The take that is there")
    (way,) = [each for each in page.find("a", href=f"/takes/{rows.take}") if "there" in each.text]
    assert way.text == "The take that is there"
    assert page.form(f"{path}/takes").values["dynamic"] == "f"
    assert notebook.clips.names() == before


def test_nothing_is_attached_to_what_is_not_there(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    page = filled_client.get(f"/fingerings/{rows.base}")
    form = page.form("/takes")
    for number in (999, rows.binned_fingering):
        form.action = f"/fingerings/{number}/takes"
        answer = filled_client.send(page, form, clip=(tone_wav(440.0), "x.wav"))
        assert answer.status_code == 404


def test_the_notes_of_a_multiphonic_are_listed_as_written(
    filled: tuple[Notebook, Filled], filled_client: Browser, take_maker: TakeMaker
) -> None:
    notebook, rows = filled
    # On a B-flat instrument 220 Hz is written B3 and 329.63 Hz is E4, so F#4 (A = 440; common
    # practice); the second lies 20 cents above.
    notes = (Component(329.63 * 2 ** (20 / 1200), 0.0), Component(220.0, -6.0))
    take = take_maker(
        notebook, rows.base, None, verdict=Verdict.MULTIPHONIC, more={"components": notes}
    )
    cells = [cell.text for cell in filled_client.get(f"/takes/{take}").find("td")]
    assert cells[:4] == ["B3", "0 cents", "220.0 Hz", "−6 dB"]
    assert cells[4:8] == ["F sharp 4", "+20 cents", "333.5 Hz", "the loudest"]


def test_a_take_beside_its_target_names_the_note_it_is_nearer_to(
    filled: tuple[Notebook, Filled], filled_client: Browser, take_maker: TakeMaker
) -> None:
    notebook, rows = filled
    # 261.63 Hz is written D4 on a B-flat instrument (A = 440; common practice); 55 cents higher
    # lies nearest to the quarter tone above
    take = take_maker(
        notebook,
        rows.base,
        261.63 * 2 ** (55 / 1200),
        more={"warnings": (TakeWarning.NEARER_TO_ANOTHER,)},
    )
    words = filled_client.get(f"/takes/{take}").text
    assert "nearer to another:" in words
    assert "It is nearer to D quarter-sharp 4." in words


def test_a_take_dated_today_is_one_of_now(
    filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    now = datetime(2026, 3, 4, 8, 30, tzinfo=UTC)
    monkeypatch.setattr("webapp.notebook.takes.takes.now_utc", lambda: now)
    assert moment_of_day(date(2026, 3, 4)) == now
    assert moment_of_day(date(2026, 3, 3)) == datetime(2026, 3, 3, 12, tzinfo=UTC)
    assert moment_of_day(None) is None


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda path: path.write_bytes(path.read_bytes()[:-1] + b"?"), "not the one that was"),
        (lambda path: path.unlink(), "missing from the clip store"),
    ],
)
def test_a_file_that_is_altered_or_gone_is_told_of_where_it_is_played(
    filled: tuple[Notebook, Filled],
    filled_client: Browser,
    damage: Callable[[Path], object],
    words: str,
) -> None:
    notebook, rows = filled
    path = f"/takes/{rows.take}"
    assert not filled_client.get(path).find("div", class_="problem")
    damage(find_clip(notebook, rows.take)[1])
    (problem,) = filled_client.get(path).find("div", class_="problem")
    assert words in problem.text
    listed = filled_client.get(f"/fingerings/{rows.base}").find("td", class_="words")
    assert sum(words in each.text for each in listed) == 1
