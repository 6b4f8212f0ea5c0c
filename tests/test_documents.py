"""What the documents promise is there, and what is there is documented."""

import re
import subprocess
from pathlib import Path

import click
import pytest

from tests.long_files import LONG_FILES
from webapp.cli import COMMANDS, open_command
from webapp.notebook.store import addresses, own_folder

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def documents() -> str:
    """README and the page for developers."""
    return "\n".join((ROOT / name).read_text("utf-8") for name in ("README.md", "DEVELOPERS.md"))


@pytest.fixture(scope="module")
def tracked() -> dict[str, str]:
    """Every text file that belongs to the project."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if listed.returncode:
        pytest.skip("not a git checkout")
    texts = {}
    for name in listed.stdout.splitlines():
        try:
            texts[name] = (ROOT / name).read_text("utf-8")
        except (UnicodeDecodeError, FileNotFoundError):
            continue  # not a text, or removed and not yet committed
    return texts


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_is_documented(documents: str, name: str) -> None:
    assert f"quartervent {name}" in documents


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_option_is_documented_or_explains_itself(documents: str, name: str) -> None:
    for option in open_command(name).params:
        if isinstance(option, click.Option):
            has_help = bool(option.help)
            assert has_help or any(each in documents for each in option.opts), option.opts


def test_every_environment_variable_is_documented(documents: str, tracked: dict[str, str]) -> None:
    in_code = {
        found
        for name, text in tracked.items()
        if name.startswith(("webapp/", "analysis/", "migrations/"))
        for found in re.findall(r"\bQUARTERVENT_[A-Z]+\b", text)
    }
    assert {own_folder.INSTANCE_VARIABLE, addresses.DATABASE_VARIABLE} <= in_code
    assert {name for name in in_code if name not in documents} == set()


def test_every_command_in_the_documents_exists(documents: str) -> None:
    named = set(re.findall(r"^\s*(?:\S*/)?quartervent ([a-z]+)", documents, re.MULTILINE))
    named |= set(re.findall(r"`quartervent ([a-z]+)", documents))
    assert named
    assert named <= set(COMMANDS)


def test_the_map_names_every_module_and_package_of_the_code() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    words = set(re.findall(r"\w+", page.split("```")[1]))
    named = {
        path.stem
        for package in ("analysis", "webapp")
        for path in (ROOT / package).iterdir()
        if path.suffix == ".py" or (path / "__init__.py").is_file()
    }
    assert named - words == {"__init__"}


def test_links_between_the_documents_lead_somewhere(documents: str) -> None:
    for target in re.findall(r"\]\(([^)#\s]+)\)", documents):
        if "://" not in target and not target.startswith("mailto:"):
            assert (ROOT / target).exists(), target


def test_no_file_names_a_machine_or_a_registry(tracked: dict[str, str]) -> None:
    # Written in pieces, so that this file does not find itself.
    patterns = [
        r"(?<![\w./])/(?:wo" + r"rk|ro" + r"ot|ho" + r"me/\w+|Us" + r"ers/\w+)/",
        r"py" + r"pi\.org",
        r"files\.python" + r"hosted",
        r"registry\.npm" + r"js",
        r"\.\./sha" + r"red",
        r"arti" + r"factory",
    ]
    found = [
        f"{name}: {match[0]}"
        for name, text in tracked.items()
        for pattern in patterns
        for match in [re.search(pattern, text)]
        if match
    ]
    assert found == []


def test_no_text_has_marks_of_unfinished_work(tracked: dict[str, str]) -> None:
    marks = r"\b(?:TO" + r"DO|FIX" + r"ME|XX" + r"X)\b"
    assert [name for name, text in tracked.items() if re.search(marks, text)] == []


def test_the_long_files_are_there() -> None:
    assert [name for name in LONG_FILES if not (ROOT / "tests" / name).is_file()] == []


def test_every_promise_names_a_test_that_is_there() -> None:
    section = (ROOT / "DEVELOPERS.md").read_text("utf-8").partition("## Promises")[2]
    promised = re.findall(r"`(test_\w+)`", section.partition("\n## ")[0])
    texts = [file.read_text("utf-8") for file in (ROOT / "tests").rglob("test_*.py")]
    there = {name for text in texts for name in re.findall(r"^def (test_\w+)", text, re.M)}
    assert len(promised) >= 24
    assert set(promised) - there == set()
