"""Work that no page waits for: one thread that does what the database says is unfinished.

The rows are the queue, so nothing is lost when the program ends: whoever opens the notebook next
wakes the thread, and it goes on. The thread ends by itself when nothing is left to do.
"""

import logging
import threading

from webapp.notebook.recordings.splitting import next_unfinished, work_on
from webapp.notebook.store.notebook import Notebook

_LOG = logging.getLogger("quartervent")


class Background:
    """The one worker of a served notebook."""

    def __init__(self, notebook: Notebook) -> None:
        self._notebook = notebook
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._is_wanted = False
        self._thread: threading.Thread | None = None

    def wake(self) -> None:
        """Say that there may be something to do."""
        with self._lock:
            self._is_wanted = True
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
        self.wait(timeout_s)

    def _run(self) -> None:
        while self._is_called():
            try:
                self._do_all()
            except Exception:
                _LOG.exception("work in the background failed")

    def _is_called(self) -> bool:
        with self._lock:
            is_called = self._is_wanted and not self._stop.is_set()
            self._is_wanted = False
            if not is_called:
                self._thread = None
            return is_called

    def _do_all(self) -> None:
        while not self._stop.is_set():
            recording_id = next_unfinished(self._notebook)
            if recording_id is None:
                return
            work_on(self._notebook, recording_id, stop=self._stop)
