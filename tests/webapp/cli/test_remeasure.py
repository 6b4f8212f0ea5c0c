"""`quartervent remeasure`: progress, what moved, and taking it up again."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import update

from tests.webapp.logging_rows import Filled
from tests.webapp.notebook.takes.test_remeasuring import OLD, make_old
from webapp.cli import main
from webapp.notebook.store.claims import claiming
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Measurement, Take
from webapp.notebook.takes.remeasuring import find_outdated


@pytest.fixture
def run(filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch) -> CliRunner:
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(filled[0].folder))
    return CliRunner()


def test_a_notebook_of_the_present_method_is_left_alone(run: CliRunner) -> None:
    result = run.invoke(main, ["remeasure"])
    assert result.exit_code == 0
    assert "already" in result.output


def test_it_says_what_moved_and_by_how_much(
    filled: tuple[Notebook, Filled], run: CliRunner
) -> None:
    notebook, rows = filled
    # The take of the filled notebook sounds 10 cents above its target.
    make_old(notebook, rows.take, 440 * 2 ** ((225 + 30) / 1200))
    result = run.invoke(main, ["remeasure"])
    assert result.exit_code == 0
    assert "by 20.0" in result.output or "by 19.9" in result.output
    row = next(line for line in result.output.splitlines() if "C#5+25c" in line)
    assert "+30.00" in row
    assert re.search(r"−(20\.0|19\.9)", row)
    assert "already" in run.invoke(main, ["remeasure"]).output


def test_a_changed_verdict_is_named(filled: tuple[Notebook, Filled], run: CliRunner) -> None:
    notebook, rows = filled
    make_old(notebook, rows.noise_take, 500.0)
    with notebook.database.writing() as session:
        session.execute(
            update(Measurement).where(Measurement.method_version == OLD).values(verdict="ok")
        )
    result = run.invoke(main, ["remeasure"])
    assert "was ok, is noise" in result.output


def test_a_missing_clip_is_named_and_the_rest_is_done(
    filled: tuple[Notebook, Filled], run: CliRunner
) -> None:
    notebook, rows = filled
    make_old(notebook, rows.take, 500.0)
    make_old(notebook, rows.binned_take, 500.0)
    with notebook.database.reading() as session:
        name = session.get_one(Take, rows.take).clip_name
    notebook.clips.resolve(name).unlink()
    result = run.invoke(main, ["remeasure"])
    assert result.exit_code == 1
    assert f"take {rows.take}: The sound file" in result.output
    again = run.invoke(main, ["remeasure"])
    assert "1 take measured" in again.output, "only what is left"


def test_what_another_program_on_this_database_does_is_not_done_twice(
    filled: tuple[Notebook, Filled], run: CliRunner, tmp_path: Path
) -> None:
    notebook, rows = filled
    make_old(notebook, rows.take, 500.0)
    with claiming(replace(notebook, folder=tmp_path / "another folder"), "remeasure"):
        refused = run.invoke(main, ["remeasure"])
    assert (refused.exit_code, "doing this already" in refused.stderr) == (1, True)
    assert find_outdated(notebook) == (rows.take,)
