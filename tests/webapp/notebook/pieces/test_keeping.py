"""Pieces in backups and checks: all of a piece comes back, and what is damaged is named."""

from __future__ import annotations

from pathlib import Path

from tests.analysis.notation.scores import bar, note
from tests.webapp.logging_rows import Filled
from tests.webapp.notebook.pieces.filling import add_score
from tests.webapp.older_forms import execute, file_of, tables_of
from webapp.notebook.opening import open_notebook
from webapp.notebook.pieces.pieces import open_head, open_piece
from webapp.notebook.safekeeping.backup import write_backup
from webapp.notebook.safekeeping.checking import check_clips, check_database
from webapp.notebook.safekeeping.restoring import restore_backup
from webapp.notebook.store.notebook import Notebook


def test_a_backup_brings_all_of_a_piece_back(
    with_pieces: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    (notebook, rows), typed = with_pieces, 1
    scored = add_score(notebook, rows.soprano, bar(note("D5 -0.5", "quarter-flat")))
    archive = tmp_path / "all.zip"
    write_backup(notebook, archive)
    before = tables_of(file_of(notebook))
    other = open_notebook(tmp_path / "other")
    restore_backup(other, archive)
    try:
        assert tables_of(file_of(other)) == before
        assert check_clips(other).is_sound
        assert open_head(other, typed).text == open_head(notebook, typed).text
        assert open_piece(other, scored).todo.open_bars == (0,)
    finally:
        other.close()


def test_a_check_names_an_altered_original_and_answers_that_cannot_be_read(
    with_pieces: tuple[Notebook, Filled],
) -> None:
    notebook, piece = with_pieces[0], 1
    assert check_clips(notebook).is_sound
    assert check_database(notebook).is_sound
    name = str(tables_of(file_of(notebook))["piece_original"][0]["clip_name"])
    notebook.clips.find(name).write_text("D5", "utf-8")
    assert check_clips(notebook).altered == (name,)
    execute(file_of(notebook), f"UPDATE piece SET answers = '[1]' WHERE id = {piece}")
    (problem,) = check_database(notebook).unreadable
    assert problem.startswith(f"piece {piece}: its answers cannot be read")
