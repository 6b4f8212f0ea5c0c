"""The page that compares two fingerings."""

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled
from webapp.notebook.store.notebook import Notebook


def test_the_difference_and_the_way_are_named(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    page = filled_client.get(f"/compare?first=logged:{rows.base}&second=logged:{rows.child}")
    assert page.status == 200
    assert "lifts right third finger (opens)" in page.text
    assert "lifts: right third finger (effort 1; one plain finger is 1)" in page.text
    assert "other holes are open" in page.text
    assert len(page.find("svg")) == 2
    assert page.find("a", href=f"/fingerings/{rows.child}")


def test_duplicate_keys_sound_alike(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/compare?first=logged:{filled[1].base}&second=ordinary:C%235:1")
    assert "the same holes are open" in page.text
    assert "ordinary" in page.text


def test_the_only_instrument_is_meant(client: Browser, clarinet: int) -> None:
    page = client.get("/compare")
    assert "On which instrument?" not in page.text
    assert page.form(method="get").values["instrument"] == str(clarinet)


def test_it_is_reached_from_an_entry_with_its_base_chosen(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    page = filled_client.get(f"/fingerings/{rows.child}")
    (link,) = [each for each in page.find("a") if each.text.strip() == "Compare"]
    compared = filled_client.get(link.attributes["href"])
    values = compared.form(method="get").values
    assert values["first"] == f"logged:{rows.base}"
    assert values["second"] == f"logged:{rows.child}"


def test_without_anything_the_instrument_is_asked_for(
    client: Browser, filled_client: Browser
) -> None:
    assert "no instrument yet" in client.get("/compare").text
    assert filled_client.get("/compare").find("a", href="/compare?instrument=1")
    assert filled_client.get("/compare?instrument=1").form(method="get").values["first"] == ""


@pytest.mark.parametrize(
    ("query", "status"),
    [
        ("?instrument=1&first=nonsense", 422),
        ("?first=logged:1&second=ordinary:none", 422),
        ("?first=logged:999", 404),
        ("?instrument=999", 404),
        ("?instrument=x", 200),
        ("?first=nonsense", 200),
    ],
)
def test_what_is_not_there_is_said(filled_client: Browser, query: str, status: int) -> None:
    page = filled_client.get(f"/compare{query}")
    assert page.status == status


def test_a_comparison_cannot_be_posted(filled_client: Browser) -> None:
    assert filled_client.open("/compare", SAME_ORIGIN, method="POST").status_code in (400, 405)
