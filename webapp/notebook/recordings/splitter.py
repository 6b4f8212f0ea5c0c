"""Work that no page waits for: one thread that does what the database says is unfinished.

The rows are the queue, so nothing is lost when the program ends: whoever opens the notebook next
wakes the thread, and it goes on. The thread ends by itself when nothing is left to do. While
another server on the same database is at work on what is left, and while the database is out of
reach, it looks again from time to time.
"""

import logging
import threading

from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.postgresql import is_out_of_reach

LOOK_AGAIN_S = 30.0
_LOG = logging.getLogger("quartervent")


class Background:
    """The one worker of a served notebook."""

    def __init__(self, notebook: Notebook) -> None:
        self._notebook = notebook
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._is_called = threading.Event()  # to look at once
        self._is_wanted = False
        self._thread: threading.Thread | None = None

    def wake(self) -> None:
        """Say that there may be something to do."""
        with self._lock:
            self._is_wanted = True
            self._is_called.set()
            if self._thread is None and not self._stop.is_set():
                self._thread = threading.Thread(target=self._run, daemon=True)
                self._thread.start()

    def wait(self, timeout_s: float) -> bool:
        """Wait until nothing is being done; tell whether that came in time."""
        thread = self._thread
        if thread is not None:
            thread.join(timeout_s)
        return thread is None or not thread.is_alive()

    def stop(self, timeout_s: float) -> None:
        """Let go of the notebook at the next step; what is unfinished stays so in its rows."""
        self._stop.set()
        self._is_called.set()
        self.wait(timeout_s)

    def _run(self) -> None:
        while self._has_work():
            try:
                self._do_all()
            except Exception as error:
                _LOG.exception("work in the background failed")
                if is_out_of_reach(error):
                    self._is_called.wait(LOOK_AGAIN_S)
                    self._is_wanted = True

    def _has_work(self) -> bool:
        with self._lock:
            has_work = self._is_wanted and not self._stop.is_set()
            self._is_wanted = False
            if not has_work:
                self._thread = None
            return has_work

    def _do_all(self) -> None:
        # With all that measures takes: what a server can do without until it has answered.
        from webapp.notebook.recordings.splitting import find_unfinished, work_on

        while not self._stop.is_set():
            self._is_called.clear()
            unfinished = find_unfinished(self._notebook)
            if not unfinished:
                return
            taken = [
                each
                for each in unfinished
                if not self._stop.is_set() and work_on(self._notebook, each, stop=self._stop)
            ]
            if not taken and not self._stop.is_set():
                self._is_called.wait(LOOK_AGAIN_S)
