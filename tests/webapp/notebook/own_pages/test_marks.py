"""Marks on own pages: what stands there, what changes together, and the piece that they make."""

from __future__ import annotations

from io import BytesIO

import pytest

from analysis.paper import DamagedPaper, PageSize
from tests.analysis.paper.papers import A4_POINTS, pdf, photo
from tests.webapp.logging_rows import add_clarinet, log
from tests.webapp.notebook.pieces.filling import add_typed_piece, mark_a_page, written
from webapp.notebook.own_pages.files import (
    PageUpload,
    add_pages,
    draw_one_page,
    remove_file,
    start_from_pages,
)
from webapp.notebook.own_pages.marks import (
    MarkDraft,
    Spot,
    add_mark,
    change_mark,
    move_mark,
    remove_mark,
    say_seen,
)
from webapp.notebook.own_pages.opening import OwnPagesView, open_own_pages, place_reference
from webapp.notebook.pieces.decisions import FixPlace, fix
from webapp.notebook.pieces.importing import import_again
from webapp.notebook.pieces.originals import Source
from webapp.notebook.pieces.pieces import open_piece
from webapp.notebook.pieces.practising import practise_piece
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import MarkForm

SPOT = Spot(0, 60.0, 80.0)


def upload(content: bytes = b"", name: str = "My part_1.pdf") -> PageUpload:
    return PageUpload(BytesIO(content or pdf()), name)


@pytest.fixture
def piece(notebook: Notebook, soprano: int) -> int:
    """A piece that consists of its page."""
    return start_from_pages(notebook, [upload()], [soprano])


@pytest.fixture
def file(notebook: Notebook, piece: int) -> int:
    return open_own_pages(notebook, piece).pages[0].file.id


def shown(view: OwnPagesView) -> list[tuple[str, str, str]]:
    """Bar, first pitch and keys of each mark."""
    return [
        (each.mark.bar_label, each.mark.written[0].canonical, each.keys_text) for each in view.marks
    ]


def test_a_part_on_paper_is_a_piece_like_any_other(
    notebook: Notebook, soprano: int, piece: int, file: int
) -> None:
    assert open_piece(notebook, piece).piece.title == "My part 1"
    assert open_piece(notebook, piece).todo.notes == ()
    log(notebook, soprano, "E5 +25", "T R 123 | 12-")
    for x, note, bar in ((90, "D5 -50", "13"), (40, "E5 +25", "12"), (60, "D5 -50", "12"),
                         (20, "F5", "13")):  # fmt: skip
        add_mark(notebook, piece, file, Spot(0, x, 50), MarkDraft(note, bar))
    view = open_own_pages(notebook, piece)
    assert shown(view) == [
        ("12", "E5+25c", "T R 123 | 12-"),
        ("12", "D5-50c", ""),
        ("13", "F5", "T R 123 | 1--"),  # as the keywork has it
        ("13", "D5-50c", ""),
    ]
    todo = open_piece(notebook, piece).todo
    # what was logged and not tried waits after what is open
    assert [each.need.written.canonical for each in todo.notes] == ["D5-50c", "E5+25c"]
    assert [todo.part.bars[bar].label for bar in todo.notes[0].need.bars] == ["12", "13"]
    assert practise_piece(notebook, piece, soprano)[1] == 2


def test_all_marks_of_a_note_change_together_and_say_so(
    notebook: Notebook, soprano: int, piece: int, file: int
) -> None:
    for x in (20, 40, 60):
        add_mark(notebook, piece, file, Spot(0, x, 50), MarkDraft("D5 -50", str(x)))
    add_mark(notebook, piece, file, SPOT, MarkDraft("E5", "99"))
    assert open_own_pages(notebook, piece).changed == ()
    number = log(notebook, soprano, "D5 -50", "T R 123 | 12-")
    changed = open_own_pages(notebook, piece).changed
    assert [each.keys_text for each in changed] == ["T R 123 | 12-"] * 3
    say_seen(notebook, piece)
    assert open_own_pages(notebook, piece).changed == ()
    log(notebook, soprano, "D5 -50", "T R 123 | 1--")
    other = log(notebook, soprano, "D5 -50", "T R 123 | -2-")
    fix(notebook, piece, other, FixPlace(written("D5-50c"), bar=1))
    keys = {each.mark.bar_label: each.keys_text for each in open_own_pages(notebook, piece).marks}
    assert number != other
    assert keys["40"] == "T R 123 | -2-"
    assert keys["20"] == keys["60"] != "T R 123 | -2-"


def test_what_is_fixed_at_a_mark_moves_with_it_and_goes_with_it(
    notebook: Notebook, soprano: int, piece: int, file: int
) -> None:
    mark = add_mark(notebook, piece, file, Spot(0, 60, 50), MarkDraft("D5 -50", "20"))
    fix(notebook, piece, log(notebook, soprano, "D5 -50", "T R 123 | -2-"),
        FixPlace(written("D5-50c"), bar=0))  # fmt: skip
    log(notebook, soprano, "D5 -50", "T R 123 | 12-")
    add_mark(notebook, piece, file, Spot(0, 20, 50), MarkDraft("D5 -50", "8"))
    add_mark(notebook, piece, file, Spot(0, 40, 50), MarkDraft("D5 -50", "20"))
    (fixed,) = open_piece(notebook, piece).decisions.fixed
    assert (fixed.bar, fixed.onset) == (1, "1")
    words = [each.words for each in open_own_pages(notebook, piece).marks]
    assert words == ["not tried", "not tried", "not tried, fixed"]
    remove_mark(notebook, piece, mark)
    assert open_piece(notebook, piece).decisions.fixed == ()


def test_notes_of_a_part_that_was_read_are_put_one_after_the_other(
    notebook: Notebook, soprano: int
) -> None:
    piece = add_typed_piece(notebook, soprano, text="1: D5 -50, E5 | 2: F5 +50, C5 & A5")
    file = mark_a_page(notebook, piece)
    view = open_own_pages(notebook, piece)
    assert [each.bar_label for each in view.waiting] == ["1", "2", "2"]
    second = place_reference(view.waiting[1])
    add_mark(notebook, piece, file, SPOT, MarkDraft(reference=second))
    view = open_own_pages(notebook, piece)
    # after the last that was put there; what was left out comes at the end
    assert [each.pitches[0].canonical for each in view.waiting] == ["C5", "D5-50c"]
    (mark,) = view.marks
    assert (mark.mark.bar_label, mark.mark.onset, mark.words) == ("2", "0", "open")
    log(notebook, soprano, "F5 +50", "T R 1-- | ---")
    assert open_own_pages(notebook, piece).marks[0].keys_text == "T R 1-- | ---"
    with pytest.raises(NotInNotebook, match="no longer in the part"):
        add_mark(notebook, piece, file, SPOT, MarkDraft(reference="77"))


def test_where_space_is_short_a_letter_stands_for_the_fingering(
    notebook: Notebook, soprano: int, piece: int, file: int
) -> None:
    log(notebook, soprano, "D5 -50", "T R 123 | 12-")
    for x in (40, 44, 90):
        add_mark(notebook, piece, file, Spot(0, x, 50), MarkDraft("D5 -50", "1"))
    view = open_own_pages(notebook, piece)
    assert [each.mark.form for each in view.marks] == ["drawing", "letter", "drawing"]
    assert [each.letter for each in view.marks] == ["A", "A", "A"]
    assert [each.keys_text for each in view.letters] == ["T R 123 | 12-"]
    mark = view.marks[1].mark
    change_mark(notebook, piece, mark.id, SPOT, MarkDraft("D5 -50", "1", form=MarkForm.DRAWING))
    assert open_own_pages(notebook, piece).letters == ()


def test_a_mark_is_moved_changed_and_removed(notebook: Notebook, piece: int, file: int) -> None:
    mark = add_mark(notebook, piece, file, SPOT, MarkDraft("D5 -50", "1"))
    move_mark(notebook, piece, mark, 10.004, 20)
    change_mark(notebook, piece, mark, Spot(0, 10, 25), MarkDraft("C5 & A5", "A 2"))
    (only,) = open_own_pages(notebook, piece).marks
    assert (only.mark.x_mm, only.mark.y_mm, only.mark.bar_label) == (10, 25, "A 2")
    assert only.mark.pitches == "C5 A5"
    for wrong in (Spot(0, 211, 5), Spot(0, -1, 5), Spot(0, float("nan"), 5)):
        with pytest.raises(FieldRefused, match="210 mm wide and 297 mm tall"):
            change_mark(notebook, piece, mark, wrong, MarkDraft("D5", "1"))
    for draft, cause in ((MarkDraft("D5", " "), "Give the bar"), (MarkDraft("", "1"), "Type the"),
                         (MarkDraft("what", "1"), "what")):  # fmt: skip
        with pytest.raises(FieldRefused, match=cause):
            add_mark(notebook, piece, file, SPOT, draft)
    with pytest.raises(NotInNotebook):
        add_mark(notebook, piece, file, Spot(3, 5, 5), MarkDraft("D5", "1"))
    remove_mark(notebook, piece, mark)
    with pytest.raises(NotInNotebook):
        move_mark(notebook, piece, mark, 5, 5)
    other = start_from_pages(notebook, [upload()], [add_clarinet(notebook, "Other")])
    with pytest.raises(NotInNotebook):
        add_mark(notebook, other, file, SPOT, MarkDraft("D5", "1"))


def test_files_follow_each_other_and_are_checked_and_removed(
    notebook: Notebook, piece: int
) -> None:
    more = [upload(photo("JPEG", turned=True), "b.jpg"), upload(pdf(A4_POINTS, A4_POINTS))]
    assert add_pages(notebook, piece, more) == 3
    view = open_own_pages(notebook, piece)
    assert [(each.number, each.index) for each in view.pages] == [(1, 0), (2, 0), (3, 0), (4, 1)]
    assert view.pages[1].size == PageSize(210, 280)
    assert view.pages[1].file.original_name == "b.jpg"
    drawing = draw_one_page(notebook, piece, view.pages[1].file.id, 0)
    assert drawing.media_type == "image/jpeg"
    assert draw_one_page(notebook, piece, view.pages[1].file.id, 0) is drawing
    report = check_clips(notebook)
    assert (report.is_sound, report.checked) == (True, 3)
    remove_file(notebook, piece, view.pages[0].file.id)
    remove_file(notebook, piece, view.pages[1].file.id)
    assert open_piece(notebook, piece).original.original_name == "My part_1.pdf"
    with pytest.raises(Refused, match="consists of this file"):
        remove_file(notebook, piece, view.pages[2].file.id)
    assert check_clips(notebook).is_sound
    put_in_bin(notebook, "piece", piece)
    empty_bin(notebook)
    assert notebook.clips.names() == frozenset()


def test_of_files_that_come_together_all_are_kept_or_none(notebook: Notebook, piece: int) -> None:
    before = notebook.clips.names()
    with pytest.raises(DamagedPaper):
        add_pages(notebook, piece, [upload(), upload(b"%PDF-1.7")])
    with pytest.raises(NotInNotebook):
        add_pages(notebook, 999, [upload()])
    assert notebook.clips.names() == before


def test_marks_stay_when_the_piece_gets_a_part_to_read(
    notebook: Notebook, soprano: int, piece: int, file: int
) -> None:
    add_mark(notebook, piece, file, SPOT, MarkDraft("D5 -50", "12"))
    fix(notebook, piece, log(notebook, soprano, "D5 -50", "T R 123 | -2-"),
        FixPlace(written("D5-50c"), bar=0))  # fmt: skip
    import_again(notebook, piece, Source(text="11: C5 | 12: D5 -50 | 13: D5 -50"))
    page = open_piece(notebook, piece)
    assert not page.has_earlier
    assert [each.bar for each in page.decisions.fixed] == [1]
    view = open_own_pages(notebook, piece)
    assert shown(view) == [("12", "D5-50c", "T R 123 | -2-")]
    assert [each.bar_label for each in view.waiting] == ["12", "13"]
