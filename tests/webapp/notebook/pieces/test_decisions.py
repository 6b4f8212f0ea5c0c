"""Decisions about a piece: settled notes, fixed and composer's fingerings, pp by pp takes."""

from __future__ import annotations

import pytest

from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.notebook.pieces.filling import add_typed_piece, written
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.pieces.decisions import (
    COMPOSERS_TAG,
    FixPlace,
    enter_composers_fingering,
    fix,
    open_again,
    remove_composers_fingering,
    say_it_speaks,
    settle,
    unfix,
)
from webapp.notebook.pieces.pieces import open_piece
from webapp.notebook.pieces.todo import TodoNote
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import FixKind, Settlement

SOFTLY = '1: D5 -50 (1/2) "1/4=60" "pp" | 2: E5 +25'
D_HZ = 508.355  # D5-50c on a B-flat clarinet at A 440: 440 * 2 ** ((7150 - 6900) / 1200)


def note_of(notebook: Notebook, piece: int, text: str = "D5-50c") -> TodoNote:
    notes = open_piece(notebook, piece).todo.notes
    return next(each for each in notes if each.need.written == written(text))


def test_a_settled_note_leaves_its_bars_until_it_is_opened_again(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=SOFTLY)
    assert open_piece(notebook, piece).todo.open_bars == (0, 1)
    settle(notebook, piece, clarinet, written("D5-50c"), Settlement.LIP)
    settle(notebook, piece, clarinet, written("D5-50c"), Settlement.SUBSTITUTE, "D flat")
    todo = open_piece(notebook, piece).todo
    assert todo.open_bars == (1,)
    assert [each.need.written.canonical for each in todo.notes] == ["E5+25c", "D5-50c"]
    settled = todo.notes[1].settled
    assert settled is not None
    assert (settled.settlement.words, settled.reason) == ("substitute", "D flat")
    open_again(notebook, piece, clarinet, written("D5-50c"))
    assert open_piece(notebook, piece).todo.open_bars == (0, 1)


def test_fixed_fingerings_are_of_a_note_a_pitch_or_a_pattern(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=SOFTLY)
    first, second = (log(notebook, clarinet, "D5 -50", keys) for keys in ("T R 12-", "T R 1--"))
    note = written("D5-50c")
    places = [FixPlace(note), FixPlace(note, bar=0), FixPlace(note, after=written("E5+25c"))]
    numbers = [fix(notebook, piece, first, place) for place in places]
    numbers[0] = fix(notebook, piece, second, places[0])
    fixed = note_of(notebook, piece).fixed
    assert [(FixKind(each.kind), each.fingering_id) for each in fixed] == [
        (FixKind.NOTE, first), (FixKind.PATTERN, first), (FixKind.PITCH, second),
    ]  # fmt: skip
    unfix(notebook, piece, numbers[0])
    assert len(note_of(notebook, piece).fixed) == 2
    put_in_bin(notebook, "fingering", first)
    assert note_of(notebook, piece).fixed == ()


def test_a_composers_fingering_is_logged_and_tried_first(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=SOFTLY)
    number = enter_composers_fingering(notebook, piece, clarinet, "D quarter-flat 5", "T R 12-")
    again = enter_composers_fingering(notebook, piece, clarinet, "Dqf5", "T R 12-")
    assert again == number
    to_try = note_of(notebook, piece).to_try
    assert to_try is not None
    assert to_try.fingering_id is not None
    assert open_fingering(notebook, to_try.fingering_id).fingering.tags == (COMPOSERS_TAG,)
    take_maker(notebook, to_try.fingering_id, D_HZ)
    assert note_of(notebook, piece).to_try is None
    remove_composers_fingering(notebook, piece, number)
    assert note_of(notebook, piece).composers == ()
    assert open_fingering(notebook, to_try.fingering_id).fingering.deleted_at is None


def test_a_multiphonic_is_kept_with_its_fingering_and_whether_it_speaks(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text="C5 & A5 (1/2)")
    number = enter_composers_fingering(notebook, piece, clarinet, "A5 & C5", "T R 1--")
    say_it_speaks(notebook, piece, number, speaks=True)
    page = open_piece(notebook, piece)
    (apart,) = page.todo.apart
    (kept,) = page.decisions.composers_for(apart.written)
    assert (kept.id, kept.speaks, kept.fingering_id) == (number, True, None)


@pytest.mark.parametrize(
    ("notes", "keys", "field"),
    [("", "T R 1--", "notes"), ("what", "T R 1--", "notes"), ("D5", "nonsense!", "keys"),
     (" & ".join(["D5"] * 9), "T", "notes")],
)  # fmt: skip
def test_what_cannot_be_read_is_refused(
    notebook: Notebook, clarinet: int, notes: str, keys: str, field: str
) -> None:
    piece = add_typed_piece(notebook, clarinet)
    with pytest.raises(FieldRefused) as refused:
        enter_composers_fingering(notebook, piece, clarinet, notes, keys)
    assert refused.value.field == field


def test_a_soft_note_is_judged_by_its_soft_takes(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=SOFTLY)
    fingering = log(notebook, clarinet, "D5 -50", "T R 12- | 1--")
    take_maker(notebook, fingering, D_HZ, dynamic="mf")
    loud = note_of(notebook, piece)
    assert loud.is_solved
    assert loud.softly is not None
    assert not loud.softly.is_proven
    known = loud.softly.judged.facts.uncertainty_cents or 0.0
    # two independent standard uncertainties add as squares (GUM, 5.1.2)
    assert loud.softly.uncertainty_cents == pytest.approx((known**2 + 8.0**2) ** 0.5)

    take_maker(notebook, fingering, D_HZ * 2 ** (18 / 1200), dynamic="pp")
    soft = note_of(notebook, piece)
    assert soft.softly is not None
    assert soft.softly.is_proven
    assert soft.softly.judged.offset_cents == pytest.approx(18.0, abs=0.1)
    assert not soft.is_solved
