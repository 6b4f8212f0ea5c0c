"""The chart pages."""

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled
from webapp.notebook import Notebook


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
    assert answer.headers["Content-Disposition"] == (
        f'attachment; filename="fingering-chart-{filled[1].soprano}.pdf"'
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
