"""Fill an empty notebook with the demo.

All fingerings are logged first, in one transaction that the first page waits for; then the piece is
brought in, and the takes are made, attached and measured through the ordinary services, newest
fingerings first. What only that needs is imported by then.
Everything carries the dates of the story, not today's, so that a chart of the demo never changes.
"""

import logging
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from webapp.notebook.demo.entries import Logged, log_story
from webapp.notebook.demo.story import DemoTake, read_story
from webapp.notebook.store.notebook import Notebook

_log = logging.getLogger(__name__)
LOGGING_PATIENCE_S = 20.0


class DemoFilling:
    """A demo notebook being filled: fingerings first, for which pages wait, then their takes.

    Raises:
        ValueError: the notebook is not a demo notebook; a player's own is never touched.
    """

    def __init__(self, notebook: Notebook) -> None:
        if not notebook.is_demo:
            raise ValueError("the demo only fills a demo notebook, never a player's own")
        self._notebook = notebook
        self._is_logged = threading.Event()
        self._logged: tuple[Logged, ...] = ()
        self.left_count = 0
        """How many takes are still to be recorded and measured."""

    def wait(self) -> None:
        """Wait until the fingerings are there: a page without them would show an empty notebook."""
        self._is_logged.wait(LOGGING_PATIENCE_S)

    def log_fingerings(self) -> None:
        """Log the fingerings, once; ends quietly once the notebook is gone."""
        if self._logged:
            return
        try:
            with _quiet_once_gone(self._notebook, threading.Event()):
                self._logged = log_story(self._notebook, read_story())
                self.left_count = sum(len(each.fingering.takes) for each in self._logged)
        finally:
            self._is_logged.set()

    def fill(self, *, stop: threading.Event | None = None) -> None:
        """Fill it; ends early and quietly once `stop` is set or the notebook is gone."""
        stop = stop or threading.Event()
        self.log_fingerings()
        with _quiet_once_gone(self._notebook, stop):
            if stop.is_set() or not self._logged:
                return
            from webapp.notebook.demo.attaching import attach

            _bring_in_piece(self._notebook, self._logged)
            for each, take in _takes_newest_first(self._logged):
                if stop.is_set():
                    return
                attach(self._notebook, each, take)
                self.left_count -= 1


@contextmanager
def _quiet_once_gone(notebook: Notebook, stop: threading.Event) -> Iterator[None]:
    """End work quietly where the notebook was closed meanwhile or `stop` was set."""
    try:
        yield
    except Exception:  # SQLite, the file system and the engine each have an error of their own
        if not (stop.is_set() or _is_gone(notebook)):
            raise
        _log.debug("the demo notebook was closed before it was full")


def fill_demo(notebook: Notebook, *, stop: threading.Event | None = None) -> None:
    """Fill a demo notebook; ends early and quietly once `stop` is set or the notebook is gone.

    Raises:
        ValueError: the notebook is not a demo notebook; a player's own is never touched.
    """
    DemoFilling(notebook).fill(stop=stop)


def _is_gone(notebook: Notebook) -> bool:
    """Whether the notebook was closed and its folder removed, wholly or so far in part."""
    database = Path(str(notebook.database.engine.url.database))
    return not (notebook.clips.folder.exists() and database.exists())


def _bring_in_piece(notebook: Notebook, logged: Sequence[Logged]) -> None:
    """Bring in the piece, for the first instrument of the story."""
    from webapp.notebook.demo.performing import add_demo_piece

    first, *_ = read_story()
    instrument_id = next(each.instrument_id for each in logged if each.instrument == first)
    add_demo_piece(notebook, instrument_id, logged[-1].fingering.logged_at)


def _takes_newest_first(logged: tuple[Logged, ...]) -> Iterator[tuple[Logged, DemoTake]]:
    """Walk the takes: the newest fingering comes first, its takes in the order of recording."""
    for each in reversed(logged):
        for take in each.fingering.takes:
            yield each, take
