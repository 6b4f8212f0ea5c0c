"""A hand-out as a file: alone in the world, small, the same twice, with what was wanted on it."""

import re
from html import unescape
from pathlib import Path

from analysis.pitch import NoteNames
from tests.webapp.browsing import Browser
from tests.webapp.cli.running import run
from tests.webapp.logging_rows import Filled, add_clarinet, log
from webapp.notebook.exchange.hand_outs import HandOutHeading, collect_hand_out
from webapp.notebook.exchange.selecting import Selection
from webapp.notebook.store.notebook import Notebook
from webapp.presenting.hand_out import render_hand_out

WITHOUT_SOUND_BYTES = 2_000_000


def make(notebook: Notebook, instrument_id: int, heading: HandOutHeading | None = None) -> str:
    hand_out = collect_hand_out(
        notebook,
        Selection(instrument_id),
        heading or HandOutHeading("A title", "A. Player"),
        names=NoteNames.ENGLISH,
    )
    assert render_hand_out(hand_out) == render_hand_out(hand_out)
    return render_hand_out(hand_out).decode()


def test_all_of_it_is_readable_without_scripts(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    page = make(notebook, rows.soprano)
    for words in (
        "A title",
        "A. Player",
        "+10.0 ± 3.1 cents, 1 take",
        "First of its line.",
        "does not speak",
        "T R 123 | 123 | right F#",
        "Mouthpiece: open, invented",
    ):
        assert words in page
    assert page.count("<article") == 5
    assert '<form id="search" role="search" hidden>' in page


def test_it_asks_for_nothing_from_elsewhere(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    page = unescape(make(notebook, rows.soprano, HandOutHeading(has_recordings=True)))
    assert "default-src 'none'" in page
    addresses = re.findall(r'(?:src|href|action)="([^"]*)"', page)
    assert addresses
    assert all(each.startswith(("data:audio/wav;base64,", "#")) for each in addresses)


def test_notes_and_recordings_stay_at_home_unless_they_are_wanted(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    page = make(notebook, rows.soprano, HandOutHeading(has_notes=False))
    assert "First of its line." not in page
    assert "<audio" not in page


def test_words_of_the_player_are_text(notebook: Notebook, clarinet: int) -> None:
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-", notes="</article><script>alert(1)</script>")
    page = make(notebook, clarinet, HandOutHeading("<b>title</b>", "<i>name</i>"))
    assert page.count("<script") == 1
    assert "<b>title" not in page
    assert "<i>name" not in page


def test_a_hundred_fingerings_take_less_than_two_megabytes(notebook: Notebook) -> None:
    bass = add_clarinet(notebook, "Bass", kind_id="b-flat-bass", layout_id="bass-low-c")
    for number in range(100):
        log(notebook, bass, f"D5 {number - 50:+d}", "T R 123 | 123", layout_id="bass-low-c",
            notes="A note of some length about how it speaks and what it is for. " * 3)  # fmt: skip
    assert len(make(notebook, bass).encode()) < WITHOUT_SOUND_BYTES


def test_the_page_hands_it_out(filled: tuple[Notebook, Filled], filled_client: Browser) -> None:
    page = filled_client.get(f"/instruments/{filled[1].soprano}/hand-on")
    form = page.form("/hand-on")
    form.action += "/page"
    answer = filled_client.send(page, form, fields={"list_title": "For a friend"})
    assert answer.mimetype == "text/html"
    assert "For a friend" in answer.get_data(as_text=True)


def test_the_command_writes_it(filled_folder: tuple[Path, Filled], tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    done = run("handout", str(file), "--instrument", "Invented B-flat", folder=filled_folder[0])
    assert done.exit_code == 0, done.output
    assert file.read_text("utf-8").startswith("<!doctype html>")
