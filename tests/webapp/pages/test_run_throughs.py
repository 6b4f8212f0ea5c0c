"""Pages of run-throughs: send a passage, see what changed, remove it."""

from __future__ import annotations

from typing import Any

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import attach, log
from tests.webapp.notebook.pieces.filling import add_typed_piece
from tests.webapp.notebook.pieces.playing import play_passage
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.store.notebook import Notebook

TEXT = '7: D5 -50 (1/4) "1/4=90", E5 (1/4), F5 (1/4), C5 (1/4)'
TITLE = "<i>Étude</i>"


def test_a_passage_is_sent_and_what_changed_is_shown_on_both_pages(
    notebook: Notebook, clarinet: int, client: Browser
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    attach(notebook, fingering, tone_wav(440 * 2 ** (250 / 1200)))
    piece = add_typed_piece(notebook, clarinet, text=TEXT, title=TITLE)
    wish = Stretch(0, 0, 90.0)
    data = play_passage(notebook, piece, clarinet, wish, shifts={0: -16.0})
    path = f"/pieces/{piece}/run-throughs/on/{clarinet}"
    assert path in client.get(f"/pieces/{piece}").html
    form: dict[str, Any] = {"first_bar": "0", "last_bar": "0", "tempo": "90"}
    page = client.submit(path, **form, clip=(data, "mine.wav"))
    assert page.status == 200
    assert "<i>Étude" not in page.html
    assert "Played at 90 quarter notes a minute, asked 90." in page.text
    assert "1 note out of tune." in page.text
    assert "16 cents flatter than held" in page.text
    assert "Not measured held" not in page.text  # what lay in tune is told without a reason
    (near,) = page.find("ul", class_="run-notes")
    assert near.text.replace(" ", "") == "E5bar7F5bar7C5bar7"
    note = client.get(f"/instruments/{clarinet}/notes/D5-50c")
    assert "16 cents flatter" in note.text
    assert "<i>Étude" not in note.html
    assert "Bar 7" in client.get(path).text
    run = page.response.request.path
    assert client.fetch(f"{run}/clip").data == data
    gone = client.submit(run, f"{run}/remove")
    assert "The run-through and its recording are removed." in gone.text
    assert client.get(run).status == 404


def test_what_was_out_of_tune_goes_to_the_stand(
    notebook: Notebook, clarinet: int, client: Browser
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    wish = Stretch(0, 0, 90.0)
    data = play_passage(notebook, piece, clarinet, wish, shifts={1: 25.0})
    clean = play_passage(notebook, piece, clarinet, wish)
    form: dict[str, Any] = {"first_bar": "0", "last_bar": "0", "tempo": "90"}
    path = f"/pieces/{piece}/run-throughs/on/{clarinet}"
    run = client.submit(path, **form, clip=(data, "mine.wav")).response.request.path
    assert "Not measured held, so it may be the fingering." in client.get(run).text
    stand = client.submit(run, f"{run}/practise")
    assert "1 note is on the list." in stand.text
    headings = [each.text.split() for each in stand.find("h2")]
    assert ["E5"] in headings
    assert ["F5"] not in headings
    again = client.submit(run, f"{run}/practise")
    assert "on the list already" in again.text
    run = client.submit(path, **form, clip=(clean, "mine.wav")).response.request.path
    page = client.get(run)
    assert "Every note was heard, and none was out of tune." in page.text
    assert not [each for each in page.forms if each.action.endswith("/practise")]


def test_what_cannot_be_matched_is_refused_in_place(
    notebook: Notebook, clarinet: int, client: Browser
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    path = f"/pieces/{piece}/run-throughs/on/{clarinet}"
    form: dict[str, Any] = {"first_bar": "0", "last_bar": "0", "tempo": "72"}
    page = client.submit(path, clip=(noise_wav(), "noise.wav"), **form)
    assert page.status == 415
    assert "0 of 4 notes were recognised" in page.text
    (tempo,) = page.find("input", name="tempo")
    assert tempo.attributes["value"] == "72"
    for wrong in ({"tempo": "fast"}, {"tempo": ""}, {"first_bar": "x"}, {"last_bar": "99"}):
        page = client.submit(path, **(form | wrong), clip=(tone_wav(440.0), "a.wav"))
        assert page.status == 422
    assert client.get(f"/pieces/{piece}/run-throughs/99").status == 404
