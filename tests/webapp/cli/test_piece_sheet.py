"""`quartervent piece sheet`."""

from __future__ import annotations

from pathlib import Path

from tests.webapp.cli.running import run
from webapp.notebook.store.notebook import Notebook


def test_a_sheet_is_written_from_a_file(notebook: Notebook, clarinet: int, tmp_path: Path) -> None:
    assert clarinet
    file, out = tmp_path / "study.txt", tmp_path / "sheet.pdf"
    file.write_text("1: D5 -50 (1/4), E5", "utf-8")
    options = (str(file), "--instrument", "B-flat", "--out", str(out))
    result = run("piece", "sheet", *options, folder=notebook.folder)
    assert result.exit_code == 0, result.output
    first = out.read_bytes()
    run("piece", "sheet", *options, "--signs", "arrows-quarter", folder=notebook.folder)
    assert first.startswith(b"%PDF-")
    assert out.read_bytes() != first
    run("piece", "sheet", *options, "--layout", "strips", folder=notebook.folder)
    assert out.read_bytes() != first
    run("piece", "sheet", *options, folder=notebook.folder)
    assert out.read_bytes() == first


def test_what_is_no_score_ends_with_a_sentence(
    notebook: Notebook, clarinet: int, tmp_path: Path
) -> None:
    assert clarinet
    file = tmp_path / "part.pdf"
    file.write_bytes(b"%PDF-1.4")
    out = ("--out", str(tmp_path / "sheet.pdf"))
    result = run(
        "piece", "sheet", str(file), "--instrument", "B-flat", *out, folder=notebook.folder
    )
    assert result.exit_code == 2
    assert "which shows notes but holds none" in result.output
