"""The JavaScript is checked as the Python is: by TypeScript's checker and by eslint.

Both come from the npm registry, in the versions of `package-lock.json`, into `node_modules` here.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.javascript.node import HERE, SERVED, find_node
from tests.tools import report_missing

# Where tests run beside each other, one of them brings the packages for these.
pytestmark = pytest.mark.xdist_group("npm")

ROOT = HERE.parents[1]
LOCK = HERE / "package-lock.json"
# npm leaves this copy of the lock behind when it is done.
INSTALLED = HERE / "node_modules" / ".package-lock.json"
INSTALL = ("ci", "--prefer-offline", "--no-audit", "--no-fund", "--ignore-scripts")
# The page's modules; workers, whose global names are others; the audio thread; the tests' own.
PROJECTS = ("page", "worker", "worklet", "node")
MODULES = sorted(SERVED.rglob("*.js"))


@pytest.fixture(scope="module")
def node_path() -> str:
    """A node whose tools are there, in the versions of the lock."""
    path = find_node()
    if not _is_up_to_date():
        npm = shutil.which("npm")
        if npm is None:
            report_missing("npm is not installed; it brings TypeScript and eslint")
        done = _run(npm, *INSTALL)
        if done.returncode:
            report_missing(f"npm cannot bring TypeScript and eslint:\n{done.stdout}{done.stderr}")
    return path


def _is_up_to_date() -> bool:
    """Whether every package of the lock is installed in its version."""
    if not INSTALLED.is_file():
        return False
    wanted, there = (_versions(path) for path in (LOCK, INSTALLED))
    return all(there.get(name) == version for name, version in wanted.items())


def _versions(lock: Path) -> dict[str, str]:
    """The packages of a lock, but those that are for other systems."""
    packages = json.loads(lock.read_text("utf-8"))["packages"]
    return {
        name: str(each["version"])
        for name, each in packages.items()
        if name and not each.get("optional")
    }


def _run(*command: str, cwd: Path = HERE) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("project", PROJECTS)
def test_types_are_right(node_path: str, project: str) -> None:
    compiler = HERE / "node_modules" / "typescript" / "bin" / "tsc"

    done = _run(node_path, str(compiler), "-p", f"tsconfig.{project}.json")

    assert done.returncode == 0, done.stdout + done.stderr


def test_nothing_is_found_by_eslint(node_path: str) -> None:
    program = HERE / "node_modules" / "eslint" / "bin" / "eslint.js"

    rules = ("--config", "tests/javascript/eslint.config.js", "--max-warnings=0")
    places = ("webapp/static/js", "tests/javascript")
    done = _run(node_path, str(program), *rules, *places, cwd=ROOT)

    assert done.returncode == 0, done.stdout + done.stderr


def test_every_module_is_checked_and_says_so() -> None:
    assert MODULES
    assert [path.name for path in MODULES if not _first_line(path).startswith("// @ts-check")] == []


def _first_line(path: Path) -> str:
    return path.read_text("utf-8").partition("\n")[0]


def test_no_finding_is_silenced() -> None:
    silencers = re.compile(r"@ts-(ignore|nocheck|expect-error)|eslint-disable|\{any\}|\bany\[\]")
    found = [path.name for path in MODULES if silencers.search(path.read_text("utf-8"))]
    assert found == []


def test_no_two_classes_have_one_name() -> None:
    names = [
        name
        for path in MODULES
        for name in re.findall(r"^(?:export )?class (\w+)", path.read_text("utf-8"), re.M)
    ]
    assert sorted(names) == sorted(set(names))


def test_only_the_module_for_the_page_finds_and_makes_elements() -> None:
    own_ways = re.compile(r"\.querySelector(All)?\(|\.createElement(NS)?\(")
    others = [path for path in MODULES if path.name != "dom.js"]
    assert [path.name for path in others if own_ways.search(path.read_text("utf-8"))] == []


def test_the_lock_fits_what_is_asked_for() -> None:
    asked = json.loads((HERE / "package.json").read_text("utf-8"))["devDependencies"]
    locked = json.loads(LOCK.read_text("utf-8"))["packages"]
    assert locked[""]["devDependencies"] == asked
    assert {name: locked[f"node_modules/{name}"]["version"] for name in asked} == asked


def test_the_lock_names_no_address() -> None:
    assert '"resolved"' not in LOCK.read_text("utf-8")
