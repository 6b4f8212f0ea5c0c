"""A list of targets on the stand, and what a player sees of it."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from playwright.sync_api import Locator, Page, expect

from analysis.pitch import NoteNames
from tests.browser.played_microphone import take, tone
from tests.browser.visiting import Visitor
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import sounding_hz
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.practice.practice_targets import add_typed

D5_QUARTER_FLAT, C_SHARP_5_RAISED = 7350, 7325


FIRST, SECOND, THIRD = 5.0, -3.0, 6.0


LIST = "D5 -50, C#5 +25"


HEARD_MS = 60_000


def held(written_cents: float, seed: int = 1) -> NDArray[np.float64]:
    """A note that makes one take."""
    return take(tone(sounding_hz(written_cents), duration_s=0.9, seed=seed))


TWO_NOTES = (held(D5_QUARTER_FLAT + FIRST), held(D5_QUARTER_FLAT + SECOND, 2))
"""For the first target of `LIST`."""
THIRD_NOTE = (held(C_SHARP_5_RAISED + THIRD, 3),)
"""For the second."""


def begin(folder: Path, rows: Filled, targets: str = LIST) -> int:
    """Begin a session with a list; return its number."""
    with closing(open_notebook(folder)) as notebook:
        practice = start_practice(notebook, rows.soprano, PracticeDraft())
        add_typed(notebook, practice, targets, names=NoteNames.ENGLISH)
        return practice


def to_the_stand(visitor: Visitor, practice: int) -> Page:
    """Open the stand of a session, for a visitor without `is_suggested_to`."""
    page = visitor.open(f"/practice/{practice}/stand")
    expect(page.locator(".stand.is-live")).to_be_visible()
    page.wait_for_load_state("networkidle")
    return page


def takes(page: Page) -> Locator:
    """The takes of the page that were measured."""
    return page.locator(".stand-take", has=page.locator(".stand-take-number:not(:empty)"))


def number_of(take: Locator) -> float:
    text = take.locator(".stand-take-number").inner_text()
    return float(text.split("±")[0].replace("−", "-"))


def heading(page: Page) -> Locator:
    return page.locator(".stand-item:not([hidden]) h2")


def forgive_being_offline(visitor: Visitor) -> None:
    """Of the faults of a visitor, take those away that a missing connection makes."""
    wanted = ("ERR_INTERNET_DISCONNECTED", "ERR_NETWORK_CHANGED")
    visitor.faults[:] = [
        each for each in visitor.faults if not any(name in each for name in wanted)
    ]
