"""The demo's piece: an invented page of music with all that a part of today asks for."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tests.webapp.logging_rows import add_clarinet
from webapp.notebook.demo.performing import EIGHTH_TONE, add_demo_piece
from webapp.notebook.own_pages.opening import open_own_pages
from webapp.notebook.pieces.needs import OTHER_INSTRUMENT, Closeness
from webapp.notebook.pieces.pieces import PiecePage, add_instrument_to, open_piece
from webapp.notebook.store.notebook import Notebook

AT = datetime(2025, 5, 1, 12, tzinfo=UTC)


@pytest.fixture
def page(notebook: Notebook, clarinet: int) -> PiecePage:
    return open_piece(notebook, add_demo_piece(notebook, clarinet, AT))


def test_it_holds_quarter_tones_an_eighth_a_just_third_a_trill_and_another_clarinet(
    page: PiecePage,
) -> None:
    needs = {each.need.written.canonical: each for each in page.todo.notes}
    assert {"D5-50c", "E5-50c", "F5+50c", "G5-50c", "B4-50c", "A5+50c", EIGHTH_TONE} <= set(needs)
    assert needs[EIGHTH_TONE].settled is not None
    just = [each for each in page.todo.notes if each.need.closeness is Closeness.JUST]
    # a major third 5:4 above F4: 386.314 cents, so 13.686 below A4
    assert [round(float(each.need.written.cents), 1) for each in just] == [6886.3]
    # the trill's second note, a tone above G and a quarter tone lower
    assert needs["A5-50c"].need.alternating_count == 1
    (apart,) = [each for each in page.todo.apart if each.what == OTHER_INSTRUMENT]
    assert [page.todo.part.bars[bar].label for bar in apart.bars] == ["10", "11"]
    assert page.asked.questions == ()
    assert "pp" in needs["D5-50c"].need.dynamics


def test_an_a_clarinet_is_offered_for_its_bars(
    notebook: Notebook, clarinet: int, page: PiecePage
) -> None:
    assert page.other_instruments == ()
    other = add_clarinet(notebook, "A", kind_id="a-soprano")
    add_clarinet(notebook, "Second B-flat")
    again = open_piece(notebook, page.piece.id)
    assert [each.id for each in again.other_instruments] == [other]
    add_instrument_to(notebook, page.piece.id, other)
    on_a = open_piece(notebook, page.piece.id, other)
    assert {each.need.written.canonical for each in on_a.todo.notes} == {"E5-50c", "C5+50c"}


def test_it_has_the_dates_of_the_story(page: PiecePage) -> None:
    assert {page.piece.created_at, page.piece.updated_at, page.original.created_at} == {AT}


def test_its_printed_part_is_marked_note_by_note(notebook: Notebook, clarinet: int) -> None:
    view = open_own_pages(notebook, add_demo_piece(notebook, clarinet, AT))
    assert view.waiting == tuple(each for each in view.waiting if each.is_second)
    (page,) = view.pages
    assert [page.size.width_mm, page.size.height_mm] == pytest.approx([210, 297], abs=0.01)
    bars = [int(each.mark.bar_label) for each in page.marks]
    assert bars == sorted(bars)
    assert {each.mark.created_at for each in page.marks} == {AT}
