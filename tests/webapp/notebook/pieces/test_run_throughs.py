"""Run-throughs kept in a notebook: context beside held, what is refused, what goes with the bin."""

from __future__ import annotations

from io import BytesIO

import pytest

from tests.webapp.logging_rows import attach, log
from tests.webapp.notebook.pieces.filling import add_typed_piece, written
from tests.webapp.notebook.pieces.playing import play_passage
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.practising import practise_run
from webapp.notebook.pieces.run_throughs import (
    find_in_context,
    find_run_clip,
    keep_run,
    open_run,
    open_runs,
    remove_run,
)
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.safekeeping.checking import read_hashes
from webapp.notebook.store.errors import ClipRefused, FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import exact_key
from webapp.notebook.targets.choices import set_tolerance

TEXT = '1: D5 -50 (1/4) "1/4=90", E5 (1/8), F5, D5 -50 (1/4), C5 | 2: G5 (1/2), E5 (1/2)'
WISH = Stretch(0, 1, 90.0)


@pytest.fixture
def piece(notebook: Notebook, clarinet: int) -> int:
    return add_typed_piece(notebook, clarinet, text=TEXT)


@pytest.fixture
def held(notebook: Notebook, clarinet: int) -> int:
    """A fingering for D quarter-flat that sounds 10 cents sharp held; on B-flat it is C5 -50."""
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    attach(notebook, fingering, tone_wav(440 * 2 ** ((250 + 10) / 1200)))
    return fingering


def test_a_note_that_lies_otherwise_comes_first_and_is_told_on_its_page(
    notebook: Notebook, clarinet: int, piece: int, held: int
) -> None:
    data = play_passage(notebook, piece, clarinet, WISH, shifts={3: 18.0})
    run_id = keep_run(notebook, piece, clarinet, WISH, BytesIO(data))
    page = open_run(notebook, piece, run_id)
    first = page.rows[0]
    assert (first.note.position, first.note.bar_label, first.note.fingering_id) == (3, "1", held)
    assert first.change_cents == pytest.approx(18.0, abs=1.0)
    assert first.is_otherwise
    assert [each.is_otherwise for each in page.rows[1:]] == [False] * 6
    assert page.missing_count == page.wrong_count == 0
    assert page.played_per_minute == pytest.approx(90, rel=0.02)
    (told,) = find_in_context(notebook, clarinet, exact_key(written("D5-50c").cents))
    assert (told.run.id, told.row.note.position) == (run_id, 3)
    assert find_in_context(notebook, clarinet, exact_key(written("E5").cents)) == ()


def test_what_was_out_of_tune_or_another_note_is_told_apart(
    notebook: Notebook, clarinet: int, piece: int
) -> None:
    # Truth: what was put into the recording, by formula.
    data = play_passage(notebook, piece, clarinet, WISH, shifts={1: -14.0, 4: 100.0, 5: 25.0})
    page = open_run(notebook, piece, keep_run(notebook, piece, clarinet, WISH, BytesIO(data)))
    out = page.out_of_tune
    assert [each.note.position for each in out] == [5, 1]
    assert [each.off_cents for each in out] == pytest.approx([25.0, -14.0], abs=1.0)
    (wrong,) = page.astray
    assert wrong.note.position == 4
    assert page.name_played(wrong) == written("C#5")
    assert page.name_played(out[0]) is None
    assert page.to_practise == ("G5", "E5", "C5")
    near = {each.rows[0].note.written: each.bars for each in page.in_tune}
    assert near == {"D5-50c": ("1",), "F5": ("1",), "E5": ("2",)}
    assert page.unjudged == ()
    assert page.uneven == ()


def test_each_note_is_judged_by_its_own_tolerance_then_by_what_the_piece_asks(
    notebook: Notebook, clarinet: int
) -> None:
    # Usual 10 cents; what is held for 2 s is asked within 5 (`needs`); two notes have their own.
    piece = add_typed_piece(
        notebook, clarinet, text='1: D5 (1/4) "1/4=60", E5 (1/4) | 2: G5 (1/2), F5 (1/2)'
    )
    set_tolerance(notebook, clarinet, "E5", 20.0)
    set_tolerance(notebook, clarinet, "F5", 8.0)
    wish = Stretch(0, 1, 60.0)
    data = play_passage(notebook, piece, clarinet, wish, shifts={0: 7.0, 1: 14.0, 2: 7.0, 3: 7.0})
    page = open_run(notebook, piece, keep_run(notebook, piece, clarinet, wish, BytesIO(data)))
    asked = {each.note.written: each.tolerance_cents for each in page.rows}
    assert asked == {"D5": 10.0, "E5": 20.0, "G5": 5.0, "F5": 8.0}
    assert page.to_practise == ("G5",)
    assert practise_run(notebook, piece, page.run.id)[1] == 1


def test_the_newest_run_through_of_a_piece_has_the_word(
    notebook: Notebook, clarinet: int, piece: int, held: int
) -> None:
    assert held
    for cents in (18.0, 0.0):
        data = play_passage(notebook, piece, clarinet, WISH, shifts={3: cents})
        keep_run(notebook, piece, clarinet, WISH, BytesIO(data))
    assert find_in_context(notebook, clarinet, exact_key(written("D5-50c").cents)) == ()
    assert len(open_runs(notebook, piece, clarinet).runs) == 2


def test_what_is_no_run_through_of_these_bars_is_refused_and_leaves_nothing(
    notebook: Notebook, clarinet: int, piece: int
) -> None:
    before = notebook.clips.names()
    other = add_typed_piece(notebook, clarinet, text="1: G4 (1/4), A5, B4, C6, A4, D6")
    wish = Stretch(0, 0, 90.0)
    strange = play_passage(notebook, other, clarinet, wish)
    kept = notebook.clips.names()
    for data in (strange, noise_wav(), b"no sound at all"):
        with pytest.raises(ClipRefused):
            keep_run(notebook, piece, clarinet, WISH, BytesIO(data))
    assert notebook.clips.names() == kept
    assert before < kept  # the typed text of the other piece


@pytest.mark.parametrize(
    ("wish", "field"),
    [
        (Stretch(1, 0, 90.0), "last_bar"),
        (Stretch(0, 9, 90.0), "last_bar"),
        (Stretch(-1, 0, 90.0), "last_bar"),
        (Stretch(0, 1, 4.0), "tempo"),
        (Stretch(0, 1, float("nan")), "tempo"),
    ],
)
def test_bars_and_tempo_are_judged_before_the_sound(
    notebook: Notebook, clarinet: int, piece: int, wish: Stretch, field: str
) -> None:
    with pytest.raises(FieldRefused) as refused:
        keep_run(notebook, piece, clarinet, wish, BytesIO(tone_wav(440.0)))
    assert refused.value.field == field


def test_its_recording_is_known_by_hash_and_goes_with_it(
    notebook: Notebook, clarinet: int, piece: int
) -> None:
    data = play_passage(notebook, piece, clarinet, WISH)
    first, second = (keep_run(notebook, piece, clarinet, WISH, BytesIO(data)) for _ in range(2))
    run, path = find_run_clip(notebook, piece, first)
    with notebook.database.reading() as session:
        assert read_hashes(session)[run.clip_name] == run.sha256
    assert path.read_bytes() == data
    remove_run(notebook, piece, first)
    assert not path.exists()
    with pytest.raises(NotInNotebook):
        open_run(notebook, piece, first)
    name = open_run(notebook, piece, second).run.clip_name
    put_in_bin(notebook, "piece", piece)
    empty_bin(notebook)
    assert name not in notebook.clips.names()
