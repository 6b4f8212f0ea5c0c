"""Cache of slow results, filled by threads and kept in memory.

A result has a name (such as the model of one instrument) and inputs (everything it is computed
from). While the inputs stay the same, the result is returned at once; other inputs start the
computation anew on a thread of its own, and whoever asks meanwhile is told for how long it has been
running. The threads never touch the database: a computation is handed over with all that it needs.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Generic, TypeVar, cast

from analysis.errors import AnalysisError

_LOG = logging.getLogger("quartervent")
PATIENCE_S = 1.5
_UNFORESEEN = (
    "The computation failed; nothing of the notebook was changed, and the details are in its log. "
    "Load the page again to try once more."
)

Result = TypeVar("Result")
Report = Callable[[float], None]
"""Tells how much of a piece of work is done, from 0 to 1."""


@dataclass(frozen=True, slots=True)
class Ready(Generic[Result]):
    """The result is there."""

    value: Result


@dataclass(frozen=True, slots=True)
class Working:
    """It is being computed, and has been for this long; how much is done, where that is known."""

    elapsed_s: float
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Failed:
    """It can't be computed, and why."""

    reason: str


Outcome = Ready[Result] | Working | Failed
Name = tuple[str, int]
"""What kind of result it is, and whose: `("model", 3)`."""


@dataclass(slots=True)
class _Task:
    inputs: Hashable
    work: Callable[[Report], object]
    started_s: float = field(default_factory=time.monotonic)
    done: threading.Event = field(default_factory=threading.Event)
    outcome: Ready[object] | Failed | None = None
    is_worth_keeping: bool = True
    share: float | None = None

    def report(self, share: float) -> None:
        """Note how much is done."""
        self.share = share


class ResultCache:
    """The slow results of one served notebook."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        # One computation of a kind at a time: the machine has other users.
        self._kind_locks: defaultdict[str, threading.Lock] = defaultdict(threading.Lock)
        self._tasks: dict[Name, _Task] = {}

    def ask(
        self,
        name: Name,
        inputs: Hashable,
        work: Callable[[Report], Result],
        *,
        patience_s: float = PATIENCE_S,
    ) -> Outcome[Result]:
        """Return the result of `work` for its inputs; start it and wait a moment where needed."""
        with self._lock:
            task = self._tasks.get(name)
            if task is None or task.inputs != inputs:
                task = self._tasks[name] = _Task(inputs, work)
                threading.Thread(target=self._do, args=(name, task), daemon=True).start()
        task.done.wait(patience_s)
        if task.outcome is None:
            return Working(time.monotonic() - task.started_s, task.share)
        if not task.is_worth_keeping:
            self._forget(name, task)
        return cast("Outcome[Result]", task.outcome)

    def knows(self, name: Name) -> bool:
        """Whether a result of this name was ever asked for; perhaps for other inputs."""
        return name in self._tasks

    def has(self, name: Name, inputs: Hashable) -> bool:
        """Whether the result for these inputs is there; nothing is started."""
        task = self._tasks.get(name)
        return task is not None and task.inputs == inputs and isinstance(task.outcome, Ready)

    def _do(self, name: Name, task: _Task) -> None:
        with self._lock:
            kind_lock = self._kind_locks[name[0]]
        with kind_lock:
            if self._tasks.get(name) is not task:
                return  # nobody wants it any more: other inputs came in
            try:
                task.outcome = Ready(task.work(task.report))
            except AnalysisError as error:
                task.outcome = Failed(str(error))
            except Exception:
                _LOG.exception("work for a page failed")
                task.is_worth_keeping = False
                task.outcome = Failed(_UNFORESEEN)
            finally:
                task.done.set()

    def _forget(self, name: Name, task: _Task) -> None:
        with self._lock:
            if self._tasks.get(name) is task:
                del self._tasks[name]
