"""`quartervent piece run`."""

from __future__ import annotations

import json
from pathlib import Path

from tests.webapp.cli.running import run
from tests.webapp.notebook.pieces.filling import add_typed_piece
from tests.webapp.notebook.pieces.playing import play_passage
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.run_throughs import open_runs
from webapp.notebook.store.notebook import Notebook


def test_a_passage_is_matched_and_kept_only_when_asked(
    notebook: Notebook, clarinet: int, tmp_path: Path
) -> None:
    text = '3: D5 (1/4) "1/4=90", E5, F5, C5 | 4: G5 (1/2), E5 (1/2)'
    piece = add_typed_piece(notebook, clarinet, text=text)
    file = tmp_path / "played.wav"
    file.write_bytes(play_passage(notebook, piece, clarinet, Stretch(0, 1, 90.0)))
    options = ("piece", "run", str(file), "--piece", "study")
    printed = run(*options, "--bars", "3-4", "--json", folder=notebook.folder)
    assert printed.exit_code == 0, printed.output
    rows = [json.loads(line) for line in printed.output.splitlines()]
    assert sorted(each["position"] for each in rows) == [1, 2, 3, 4, 5, 6]
    assert {each["right_times"] for each in rows} == {1}
    assert all(abs(each["context_cents"]) < 1 for each in rows)
    assert open_runs(notebook, piece).runs == ()
    kept = run(*options, "--bars", "3-4", "--bpm", "90", "--keep", folder=notebook.folder)
    assert "asked 90; 0 another note, 0 not heard." in kept.output
    assert len(open_runs(notebook, piece).runs) == 1
    wrong = run(*options, "--bars", "9", folder=notebook.folder)
    assert wrong.exit_code != 0
    assert "it has 3 to 4." in wrong.output
