"""Opening the log page: the bases and the chosen one, in one transaction."""

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled, TakeMaker, log
from tests.webapp.snapshots import counted_queries, counted_transactions
from webapp.notebook.entry.log import open_change, open_log
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook


def test_the_chosen_base_comes_with_those_that_can_be_chosen(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    offer = open_log(notebook, rows.soprano, base=f"logged:{rows.base}")
    assert offer.base is not None and offer.base.fingering_id == rows.base
    assert offer.base_refusal is None
    assert offer.groups[-1].name == "In this notebook"
    offered = {base.reference for group in offer.groups for base in group.bases}
    assert {f"logged:{rows.base}", "ordinary:C#5:1"} <= offered
    assert f"logged:{rows.binned_fingering}" not in offered


def test_a_base_that_is_not_there_is_refused_and_the_rest_is_offered(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    for reference in ("ordinary:none", "logged:9999", f"logged:{rows.on_bass}", "nonsense"):
        offer = open_log(notebook, rows.soprano, base=reference)
        assert offer.base is None and offer.groups
        assert offer.base_refusal is not None and offer.base_refusal.field == "base"


def test_a_suggestion_that_is_not_there_is_none(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    for number in (None, 9999, 10**30):
        assert open_log(notebook, rows.soprano, suggestion_id=number).suggestion is None


def test_a_fingering_is_offered_with_the_base_that_it_has(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    offer = open_change(notebook, rows.child)
    assert offer.fingering is not None and offer.fingering.id == rows.child
    assert offer.base is not None and offer.base == offer.kept
    assert offer.base.reference == f"logged:{rows.base}"
    again = open_change(notebook, rows.child, base=f"logged:{rows.base}")
    assert again.base == again.kept
    other = open_change(notebook, rows.child, base="ordinary:C#5:1")
    assert other.base is not None and other.base.reference == "ordinary:C#5:1"
    assert open_change(notebook, rows.child, base="").base is None
    assert open_change(notebook, rows.child, base="ordinary:none").base_refusal is not None


def test_what_is_not_there_or_in_the_bin_is_not_opened(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    with pytest.raises(NotInNotebook):
        open_log(notebook, rows.binned_instrument)
    with pytest.raises(NotInNotebook):
        open_change(notebook, rows.binned_fingering)


def test_the_log_page_is_read_in_one_transaction(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    new = f"/instruments/{rows.soprano}/fingerings/new"
    for path in (
        new,
        f"{new}?target=D5-50c&base=logged:{rows.base}",
        f"{new}?base=ordinary:none&suggestion=1&keys=nonsense",
        f"/fingerings/{rows.child}/edit",
    ):
        with counted_transactions(notebook) as begun:
            assert filled_client.get(path).status == 200
        assert len(begun) == 2, f"{path}: the page is one read, its head the other"


def test_many_fingerings_and_takes_need_no_more_queries(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    def ask() -> int:
        with counted_queries(notebook) as asked:
            open_log(notebook, clarinet, base=f"logged:{fingering}")
            open_change(notebook, fingering)
        return len(asked)

    few = ask()
    for number in range(6):
        take_maker(notebook, fingering, 508.0 + number)
        log(notebook, clarinet, "D5 -50", "T R 123 | 1--", base=f"logged:{fingering}")
    assert ask() == few
