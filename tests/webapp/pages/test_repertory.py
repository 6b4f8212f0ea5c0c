"""Repertory for composers: page, PDF and table say the same, and nothing predicted."""

import csv
from functools import partial
from io import BytesIO, StringIO

import pytest
from pypdf import PdfReader

from tests.pdf_text import read_text
from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.charts.repertory import open_repertory
from webapp.notebook.store.notebook import Notebook
from webapp.pages import repertory

# G5 sounds a whole tone lower on a B-flat soprano: F5, 800 cents above A4 (closed formula).
G5_HZ = 440 * 2 ** (800 / 1200)


@pytest.fixture
def address(notebook: Notebook, take_maker: TakeMaker, monkeypatch: pytest.MonkeyPatch) -> str:
    """A notebook with a measured quarter tone, one not tried and one that does not speak."""
    monkeypatch.setattr(repertory, "open_repertory", partial(open_repertory, patience_s=600.0))
    instrument = add_clarinet(notebook)
    flat = log(notebook, instrument, "G5-50c", "T R 123 | -2- | right cross", resistance=3)
    take_maker(notebook, flat, G5_HZ * 2 ** (-46 / 1200), dynamic="mf")
    take_maker(notebook, flat, G5_HZ * 2 ** (-42 / 1200), dynamic="pp")
    log(notebook, instrument, "B5-50c", "T R 1-3 | ---")
    log(notebook, instrument, "E4+50c", "T 12- | --3", does_not_speak=True)
    return f"/instruments/{instrument}/for-composers"


def test_the_page_says_what_there_is_at_which_dynamics(client: Browser, address: str) -> None:
    page = client.get(address)
    assert page.status == 200
    text = " ".join(page.text.split())
    assert "All notes are written for this instrument:" in text
    rows = [" ".join(row.text.split()) for row in page.find("tr")]
    (flat,) = [row for row in rows if "T R 123 | -2- | right cross" in row]
    for words in ("in tune", "+6.0", "pp +8, mf +4", "resistance 3 of 5"):
        assert words in flat
    (untried,) = [row for row in rows if "T R 1-3 | ---" in row]
    assert "not tried" in untried
    assert "T 12- | --3" not in text
    assert "predicted" not in text.replace("nothing that is only predicted", "")
    # one finger takes F sharp 5 to G quarter-flat 5 and back
    assert page.find("a", href="/instruments/1/trill?q=F%235&to=G5-50c")


def test_the_table_has_a_row_a_step_and_a_row_a_trill(client: Browser, address: str) -> None:
    answer = client.fetch(f"{address}/for-composers.csv")
    rows = list(csv.DictReader(StringIO(answer.get_data(as_text=True))))
    steps = {row["written"]: row for row in rows if row["kind"] == "step"}
    assert steps["G5-50c"]["standing"] == "in tune"
    assert steps["G5-50c"]["dynamics"] == "pp +8, mf +4"
    assert steps["E4+50c"]["standing"] == "does not speak"
    assert steps["E5+50c"]["standing"] == "open"
    (trill,) = [
        row
        for row in rows
        if (row["kind"], row["written"], row["other_written"]) == ("trill", "F#5", "G5-50c")
    ]
    assert (trill["standing"], trill["fingers"]) == ("one finger", "1")
    assert (trill["evidence"], trill["other_evidence"]) == ("ordinary", "measured")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_pdf_is_tagged_and_the_same_twice(client: Browser, address: str, paper: str) -> None:
    first, again = (client.fetch(f"{address}/for-composers.pdf?paper={paper}") for _ in range(2))
    assert first.data == again.data
    pdf = PdfReader(BytesIO(first.data))
    assert "StructTreeRoot" in str(pdf.trailer["/Root"])
    text = read_text(first.data)
    for words in ("What can be played on B-flat", "in tune +6.0", "pp +8, mf +4", "not tried"):
        assert words in text
    assert "Trills and tremolos" in text


def test_eighth_tones_list_more_steps_and_an_odd_address_is_read_as_usual(
    client: Browser, address: str
) -> None:
    def count_steps(query: str) -> int:
        answer = client.fetch(f"{address}/for-composers.csv{query}")
        return sum(
            row["kind"] == "step" for row in csv.DictReader(StringIO(answer.get_data(as_text=True)))
        )

    usual = count_steps("")
    assert count_steps("?grid=48") > 2 * usual
    assert count_steps("?grid=7") == usual


def test_without_anything_the_ordinary_trills_stand(notebook: Notebook, client: Browser) -> None:
    instrument = add_clarinet(notebook)
    page = client.get(f"/instruments/{instrument}/for-composers")
    assert page.status == 200
    assert "Nothing can be played between the semitones yet." in page.text
