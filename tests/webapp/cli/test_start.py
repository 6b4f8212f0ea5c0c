"""Start: what the server loads before its first answer, seen in processes of their own.

No times: a module that is back on the way to the first answer is named here. How long a start takes
is a benchmark (`tests/benchmarks/bench_start.py`).
"""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

START = """
import sys
from pathlib import Path
from webapp.cli.serve import open_own_notebook
from webapp.app import create_app
from webapp.notebook.safekeeping.leftovers import clear_leftovers

with open_own_notebook() as notebook:
    clear_leftovers(notebook.folder)
    client = create_app(notebook).test_client()
    assert client.get("/", base_url="http://127.0.0.1").status_code == 200
print(*sorted(sys.modules))
"""
DEMO = """
import sys
from webapp.cli.serve import _begin_demo, open_demo_notebook
from webapp.app import create_app
from webapp.presenting.kept_templates import KeptTemplates

with open_demo_notebook() as notebook:
    app = create_app(notebook)
    assert isinstance(app.jinja_env.bytecode_cache, KeptTemplates)
    _begin_demo(notebook).log_fingerings()
    page = app.test_client().get("/", base_url="http://127.0.0.1")
    assert page.status_code == 200 and "An empty notebook" not in page.text
print(*sorted(sys.modules))
"""
COMMANDS = """
import sys
from webapp.cli import main

for arguments in (["instrument", "list"], ["layouts"]):
    try:
        main(arguments)
    except SystemExit as end:
        assert end.code == 0, end
print(*sorted(sys.modules))
"""
# Each with what it is for, and none of it on the start page.
LATER = {
    "scipy": "measuring and learning",
    "soundfile": "clips",
    "librosa": "the picture of levels",
    "typst": "charts",
    "fontTools": "the font of signs",
    "alembic": "a schema that changed",
    "sqlalchemy.dialects.postgresql": "PostgreSQL",
    "verovio": "notation",
    "pypdfium2": "printed parts",
    "PIL": "printed parts",
    "cheroot": "sharing",
    "cryptography": "sharing",
    "zxcvbn": "sharing",
    "psycopg": "PostgreSQL",
    "analysis.acoustics.tube_model": "predictions",
    "analysis.finder.player_model": "suggestions",
    "analysis.recording.take": "measuring",
    "analysis.score.parts": "pieces",
    "analysis.planning": "passages",
    "analysis.performance": "run-throughs",
    "analysis.engraving": "strips",
    "webapp.notebook.charts": "charts",
    "webapp.notebook.demo.attaching": "takes of the demo",
    "webapp.notebook.demo.performing": "the piece of the demo",
    "webapp.notebook.exchange": "what is handed on",
    "webapp.notebook.finder": "suggestions",
    "webapp.notebook.pieces": "pieces",
    "webapp.notebook.own_pages": "printed parts",
    "webapp.notebook.recordings.splitting": "long recordings",
    "webapp.notebook.safekeeping.backup": "backups",
    "webapp.pages.notes": "another page",
    "webapp.pages.fingerings": "another page",
    "webapp.pages.stand": "another page",
}
# What the start page and every command need, so a name in LATER that was renamed is not missed.
NEEDED = {"sqlalchemy.orm", "numpy", "flask", "webapp.pages.start"}


def modules_after(code: str, folder: Path) -> set[str]:
    """What a process has loaded when it is done; its notebook lies in `folder`."""
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"QUARTERVENT_INSTANCE": str(folder), "PYTHONPATH": str(Path(__file__).parents[3])},
    )
    return set(done.stdout.splitlines()[-1].split())


def test_the_first_answer_loads_nothing_that_only_other_pages_need(empty_notebook: Path) -> None:
    loaded = modules_after(START, empty_notebook)
    assert loaded >= NEEDED
    assert {name: why for name, why in LATER.items() if name in loaded} == {}


def test_nor_does_that_of_the_demo_whose_notebook_is_fresh_and_filled(tmp_path: Path) -> None:
    loaded = modules_after(DEMO, tmp_path)
    assert loaded >= {*NEEDED, "webapp.notebook.demo.entries"}
    assert {name: why for name, why in LATER.items() if name in loaded} == {}


def test_a_command_loads_no_pages(empty_notebook: Path) -> None:
    loaded = modules_after(COMMANDS, empty_notebook)
    wanted = {"flask", "webapp.app", "webapp.pages", "analysis.score", "scipy"}
    assert not wanted & loaded


def test_what_is_looked_for_is_there() -> None:
    for name in LATER:
        if name.startswith(("analysis", "webapp")):
            path = Path(__file__).parents[3] / name.replace(".", "/")
            assert path.is_dir() or path.with_suffix(".py").is_file(), name


@pytest.fixture
def empty_notebook(empty_folder: Path, tmp_path: Path) -> Path:
    """A copy of an empty notebook, opened once before: nothing is to be migrated."""
    return Path(shutil.copytree(empty_folder, tmp_path / "notebook"))
