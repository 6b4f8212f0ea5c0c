"""The chart pages."""

import pickle
import re
import threading
import time
from typing import IO

import pytest

from tests.pdf_text import read_text
from tests.webapp.browsing import Browser
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import Filled
from tests.webapp.snapshots import snapshot
from webapp.notebook.charts import printing
from webapp.notebook.charts.charts import ChartKind
from webapp.notebook.charts.pdf import ChartSpec
from webapp.notebook.charts.pdf.apart import render_apart
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Failed, Report, Working
from webapp.pages import charts


def test_without_an_instrument_the_way_on_is_shown(client: Browser) -> None:
    page = client.get("/charts")
    assert page.status == 200
    assert page.find("a", href="/instruments/new")


def test_the_instruments_are_listed(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get("/charts")
    assert page.find("a", href=f"/instruments/{filled[1].soprano}/chart")
    assert "Invented, sold" not in page.text


def test_the_form_leads_to_a_pdf(filled: tuple[Notebook, Filled], filled_client: Browser) -> None:
    path = f"/instruments/{filled[1].soprano}/chart"
    form = filled_client.get(path).form("/chart.pdf", method="get")
    address = "&".join(f"{name}={value}" for name, value in form.values.items())
    answer = filled_client.fetch(f"{form.action}?{address}")
    assert answer.status_code == 200
    assert answer.mimetype == "application/pdf"
    assert answer.data.startswith(b"%PDF-")
    assert re.fullmatch(
        r'attachment; filename="invented-b-flat-fingerings-\d{4}-\d\d-\d\d\.pdf"',
        answer.headers["Content-Disposition"],
    )


def test_the_bare_address_makes_a_chart_as_well(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    answer = filled_client.fetch(f"/instruments/{filled[1].bass}/chart.pdf")
    assert answer.mimetype == "application/pdf"


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("low=nonsense", "low"),
        ("high=D", "high"),
        ("low=D5&high=C5", "high"),
        ("paper=folio", "paper"),
        ("order=random", "order"),
        ("title=" + "x" * 201, "title"),
        ("strategy=magic", "strategy"),
        ("resistance=0", "resistance"),
    ],
)
def test_what_cannot_be_made_says_why_and_keeps_the_choices(
    filled: tuple[Notebook, Filled], filled_client: Browser, query: str, field: str
) -> None:
    page = filled_client.get(f"/instruments/{filled[1].soprano}/chart.pdf?{query}&best=y")
    assert page.status == 422
    assert page.find("p", id=f"{field}-error")
    values = page.form("/chart.pdf", method="get").values
    assert values["best"] == "y"
    assert values["low"] in query


def test_predictions_are_printed_only_when_asked_for(
    filled: tuple[Notebook, Filled], filled_client: Browser, fake_finder: FakeFinder
) -> None:
    path = f"/instruments/{filled[1].soprano}/chart.pdf?low=E5&high=G5"
    plain = filled_client.fetch(path)
    assert fake_finder.fits == []
    predicted = filled_client.fetch(f"{path}&predictions=24")
    assert predicted.mimetype == "application/pdf"
    assert "only predicted" in read_text(predicted.data)
    assert "only predicted" not in read_text(plain.data)


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.25, "4 s so far, about 25 in 100 done"), (1.0, "nearly done"), (None, "4 s so far.")],
)
def test_while_predictions_are_computed_the_page_comes_back_by_itself(
    filled: tuple[Notebook, Filled],
    filled_client: Browser,
    monkeypatch: pytest.MonkeyPatch,
    share: float | None,
    words: str,
) -> None:
    monkeypatch.setattr(charts, "predict_open_steps", lambda *_, **__: Working(4.0, share))
    path = f"/instruments/{filled[1].soprano}/chart.pdf?predictions=48"
    assert filled_client.fetch(path).headers["Refresh"]
    page = filled_client.get(path)
    assert page.status == 200
    assert words in page.text
    assert "100 in 100" not in page.text
    assert page.form("/chart.pdf", method="get").values["predictions"] == "48"


def test_without_a_known_tube_no_chart_with_predictions_is_made(
    filled: tuple[Notebook, Filled], filled_client: Browser, fake_finder: FakeFinder
) -> None:
    fake_finder.is_unavailable = True
    page = filled_client.get(f"/instruments/{filled[1].soprano}/chart.pdf?predictions=24")
    assert page.status == 422
    assert "says the fake" in page.text


def test_a_chart_can_have_signs_of_its_own(
    filled: tuple[Notebook, Filled], filled_client: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def make(*_: object, writing: Writing, **__: object) -> Failed:
        asked.append(writing.accidentals.text)
        return Failed("", FieldRefused("low", "not now"))

    monkeypatch.setattr(charts, "print_chart", make)
    address = f"/instruments/{filled[1].soprano}/chart.pdf"
    for query in ("", "?signs=arrows-sixth"):
        assert filled_client.fetch(f"{address}{query}").status_code == 422
    assert asked == ["stein-zimmermann", "arrows-sixth"]
    assert filled_client.fetch(f"{address}?signs=none").status_code == 422


def fetch_when_made(client: Browser, address: str) -> bytes:
    """Look again and again, as the browser does, until the file comes."""
    while (answer := client.fetch(address)).mimetype == "text/html":
        assert answer.status_code == 200
        assert answer.headers["Refresh"]
        assert "The chart is being made" in answer.text
    assert answer.mimetype == "application/pdf"
    data: bytes = answer.data
    answer.close()
    return data


@pytest.mark.parametrize("kind", ChartKind)
def test_a_large_chart_is_made_in_the_background_and_has_the_same_bytes(
    filled: tuple[Notebook, Filled],
    filled_client: Browser,
    monkeypatch: pytest.MonkeyPatch,
    kind: ChartKind,
) -> None:
    address = f"/instruments/{filled[1].soprano}/chart.pdf?kind={kind}"
    at_once = filled_client.fetch(address).data
    monkeypatch.setattr(printing, "AT_ONCE_ENTRIES", 0)
    before = snapshot(filled[0])
    assert fetch_when_made(filled_client, address) == at_once
    assert snapshot(filled[0]) == before


def test_a_large_chart_can_be_stopped_from_its_page(
    filled: tuple[Notebook, Filled], filled_client: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = threading.Event()

    def never(_: ChartSpec, report: Report) -> IO[bytes]:
        try:
            while True:
                report(0.5)
                time.sleep(0.001)
        finally:
            ended.set()

    monkeypatch.setattr(printing, "AT_ONCE_ENTRIES", 0)
    monkeypatch.setattr(printing, "render_apart", never)
    page = filled_client.get(f"/instruments/{filled[1].soprano}/chart.pdf")
    assert "50 in 100 done" in page.text
    answer = filled_client.send(page, page.form("/chart/give-up"))
    assert answer.status_code == 303
    assert ended.wait(60)


def test_a_chart_that_fails_apart_is_an_unforeseen_error_and_leaves_no_process(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(pickle, "dump", lambda spec, file: file.write(b"no chart"))
    with pytest.raises(RuntimeError, match="could not be set"):
        render_apart(ChartSpec("", "", "", (), 440.0, None, ()), lambda _: None)
