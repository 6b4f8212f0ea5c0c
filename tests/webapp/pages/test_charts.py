"""The chart pages."""

import re
from io import BytesIO

import pytest
from pypdf import PdfReader

from tests.webapp.browsing import Browser
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import Filled
from webapp.notebook.charts.charts import Chart
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Working
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
    assert "only predicted" in words_of(predicted.data)
    assert "only predicted" not in words_of(plain.data)


def words_of(pdf: bytes) -> str:
    """The text of a PDF."""
    return " ".join(" ".join(p.extract_text() for p in PdfReader(BytesIO(pdf)).pages).split())


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

    def make(*_: object, writing: Writing, **__: object) -> Chart:
        asked.append(writing.accidentals.text)
        return Chart(b"%PDF-", "chart.pdf", 0)

    monkeypatch.setattr(charts, "make_chart_of_kind", make)
    address = f"/instruments/{filled[1].soprano}/chart.pdf"
    for query in ("", "?signs=arrows-sixth"):
        assert filled_client.fetch(f"{address}{query}").status_code == 200
    assert asked == ["stein-zimmermann", "arrows-sixth"]
    assert filled_client.fetch(f"{address}?signs=none").status_code == 422
