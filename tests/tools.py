"""Tools that some tests need and that a machine may lack."""

import os
import shutil
from typing import NoReturn

import pytest

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
# The same engine without the windows round it, which cost a third of a browser test's time; it
# knows nothing of installing a page or of asking for the microphone.
SHELL_NAME = "chromium-headless-shell"
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # Nobody else is found, so what leads away from this machine fails, and a visitor notes that.
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
    # All tabs of a profile in one process: a process of its own costs as much as opening two pages.
    "--process-per-site",
]


def find_chromium(*, is_whole: bool = False) -> str:
    """Return the path of a chromium, or skip (fail under CI) for want of one.

    With `is_whole` it is one that installs pages and asks for the microphone.
    """
    names = CHROMIUM_NAMES if is_whole else (SHELL_NAME, *CHROMIUM_NAMES)
    path = next(filter(None, map(shutil.which, names)), None)
    if path is None:
        report_missing("chromium is not installed; tests/run.py says how to get it")
    return path


def report_missing(words: str) -> NoReturn:
    """Skip the test for want of a tool; where CI is set that is a failure."""
    if os.environ.get("CI"):
        pytest.fail(f"wanted: {words}")
    pytest.skip(f"wanted: {words}")
