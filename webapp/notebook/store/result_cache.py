"""Cache of slow results, filled by one thread, one piece of work at a time, and kept in memory.

A result has a name (such as the model of one instrument) and inputs (everything it is computed
from). While the inputs stay the same, the result is returned at once; other inputs start the
computation anew, and whoever asks meanwhile is told for how long it has been waited for. A piece of
work is handed over with all that it needs.

Work is given up when nobody has asked for it for a while, at the next share that it reports. At
each share it also gives way to the pages that are being made, for a moment. What is made ahead is
asked for by nobody: it comes after everything else, stops for it, and goes on afterwards.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Generic, TypeVar, cast

from analysis.errors import AnalysisError
from webapp.notebook.store.errors import NotebookError

_LOG = logging.getLogger("quartervent")
PATIENCE_S = 1.5
GIVEN_UP_AFTER_S = 30.0  # a page that waits looks again every few seconds
STOPS_WITHIN_S = 5.0
KEPT_FOR_S = 900.0  # a file that was made and never fetched
# at each share that is reported: what somebody waits for, and what is made ahead
GIVES_WAY_S, AHEAD_GIVES_WAY_S = 0.05, 5.0
_UNFORESEEN = (
    "The computation failed; nothing of the notebook was changed, and the details are in its log. "
    "Load the page again to try once more."
)

Result = TypeVar("Result")
Report = Callable[[float], None]
"""Tells how much of a piece of work is done, from 0 to 1; raises `GivenUp` to end it."""


class GivenUp(Exception):
    """Nobody waits for the work any more, or something else comes first."""


@dataclass(frozen=True, slots=True)
class Ready(Generic[Result]):
    """The result is there."""

    value: Result


@dataclass(frozen=True, slots=True)
class Working:
    """It is being computed, and has been for this long; how much is done, where that is known.

    `is_queued` says that other work is done first.
    """

    elapsed_s: float
    share: float | None = None
    is_queued: bool = False


@dataclass(frozen=True, slots=True)
class Failed:
    """It can't be computed, and why; `error` is what was raised."""

    reason: str
    error: Exception | None = field(default=None, compare=False)


Outcome = Ready[Result] | Working | Failed
Name = tuple[str, int]
"""What kind of result it is, and whose: `("model", 3)`."""


class Traffic:
    """Counts the pages that are being made, for work that gives way to them."""

    def __init__(self) -> None:
        self._condition = threading.Condition()
        self._count = 0
        self._own = threading.local()

    def arrive(self) -> None:
        """Count the page that this thread begins to make."""
        self._own.is_counted = True
        self._change(1)

    def leave(self) -> None:
        """Count it no longer."""
        if getattr(self._own, "is_counted", False):
            self._own.is_counted = False
            self._change(-1)

    @contextmanager
    def waiting(self) -> Iterator[None]:
        """Leave a page out while it waits for the work itself."""
        is_counted = getattr(self._own, "is_counted", False)
        if is_counted:
            self.leave()
        try:
            yield
        finally:
            if is_counted:
                self.arrive()

    def let_pass(self, at_most_s: float) -> None:
        """Wait until no page is being made."""
        with self._condition:
            self._condition.wait_for(lambda: not self._count, timeout=at_most_s)

    def _change(self, by: int) -> None:
        with self._condition:
            self._count += by
            self._condition.notify_all()


@dataclass(slots=True, eq=False)
class _Task:
    name: Name
    inputs: Hashable
    work: Callable[[Report], object]
    is_ahead: bool
    started_s: float = field(default_factory=time.monotonic)
    asked_s: float = field(default_factory=time.monotonic)
    waiting: int = 0
    done: threading.Event = field(default_factory=threading.Event)
    outcome: Ready[object] | Failed | None = None
    is_worth_keeping: bool = True
    is_running: bool = False
    is_cancelled: bool = False
    share: float | None = None

    @property
    def is_wanted(self) -> bool:
        """Whether somebody waits for it, or has asked not long ago, or it is made ahead."""
        if self.is_cancelled:
            return False
        is_recent = time.monotonic() - self.asked_s < GIVEN_UP_AFTER_S
        return self.is_ahead or self.waiting > 0 or is_recent


class ResultCache:
    """The slow results of one served notebook, and the one thread that makes them."""

    def __init__(self) -> None:
        self.traffic = Traffic()
        self._lock = threading.Lock()
        self._tasks: dict[Name, _Task] = {}
        self._queue: list[_Task] = []
        self._thread: threading.Thread | None = None
        self._is_stopped = False

    def __enter__(self) -> ResultCache:
        return self

    def __exit__(self, *error: object) -> None:
        self.stop(STOPS_WITHIN_S)

    def ask(
        self,
        name: Name,
        inputs: Hashable,
        work: Callable[[Report], Result],
        *,
        patience_s: float = PATIENCE_S,
    ) -> Outcome[Result]:
        """Return the result of `work` for its inputs; start it and wait a moment where needed."""
        task = self._find_or_begin(name, inputs, work, is_ahead=False)
        return cast("Outcome[Result]", self._wait_for(task, patience_s))

    def make_ahead(self, name: Name, inputs: Hashable, work: Callable[[Report], object]) -> None:
        """See that something is made when there is nothing else to do."""
        self._find_or_begin(name, inputs, work, is_ahead=True)

    def look(self, name: Name, *, patience_s: float = 0.0) -> Outcome[object] | None:
        """Return what has become of the work of a name; None where there is none."""
        task = self._tasks.get(name)
        if task is None:
            return None
        with self._lock:
            task.waiting += 1
        return self._wait_for(task, patience_s)

    def take(self, name: Name) -> object | None:
        """Return a result that is there, and keep it no longer; None where there is none."""
        with self._lock:
            task = self._tasks.get(name)
            if task is None or not isinstance(task.outcome, Ready):
                return None
            del self._tasks[name]
            return task.outcome.value

    def give_up(self, name: Name) -> None:
        """End the work of a name at its next report, or let its result go."""
        with self._lock:
            task = self._tasks.pop(name, None)
            if task is not None:
                task.is_cancelled = True

    def stop(self, timeout_s: float) -> None:
        """End all work at its next report, and wait for that."""
        with self._lock:
            self._is_stopped = True
            self._queue.clear()
            for task in self._tasks.values():
                task.is_cancelled = True
            thread = self._thread
        if thread is not None:
            thread.join(timeout_s)

    def knows(self, name: Name) -> bool:
        """Whether a result of this name was ever asked for; perhaps for other inputs."""
        return name in self._tasks

    def has(self, name: Name, inputs: Hashable) -> bool:
        """Whether the result for these inputs is there; nothing is started."""
        task = self._tasks.get(name)
        return task is not None and task.inputs == inputs and isinstance(task.outcome, Ready)

    def _find_or_begin(
        self, name: Name, inputs: Hashable, work: Callable[[Report], object], *, is_ahead: bool
    ) -> _Task:
        with self._lock:
            self._let_go_of_old()
            task = self._tasks.get(name)
            if task is None or task.is_cancelled or task.inputs != inputs:
                if task is not None:
                    task.is_cancelled = True  # nobody wants it any more: other inputs came in
                task = self._tasks[name] = _Task(name, inputs, work, is_ahead)
                self._queue.append(task)
                if self._thread is None and not self._is_stopped:
                    self._thread = threading.Thread(target=self._work_off, daemon=True)
                    self._thread.start()
            if not is_ahead:
                task.waiting += 1  # before the thread may look: whoever asks waits for it
            return task

    def _let_go_of_old(self) -> None:
        """Drop what was made to be fetched once and was not."""
        before = time.monotonic() - KEPT_FOR_S
        for name, task in list(self._tasks.items()):
            if name[0] in FETCHED_ONCE and task.outcome is not None and task.asked_s < before:
                del self._tasks[name]

    def _wait_for(self, task: _Task, patience_s: float) -> Outcome[object]:
        """Wait for a task in which this is counted as waiting already."""
        try:
            with self.traffic.waiting():
                task.done.wait(patience_s)
        finally:
            with self._lock:
                task.waiting -= 1
                task.asked_s = time.monotonic()
        if task.outcome is None:
            elapsed_s = time.monotonic() - task.started_s
            return Working(elapsed_s, task.share, is_queued=not task.is_running)
        if not task.is_worth_keeping:
            self._forget(task)
        return task.outcome

    def _work_off(self) -> None:
        while (task := self._next()) is not None:
            task.is_running = True
            try:
                self._do(task)
            finally:
                task.is_running = False

    def _next(self) -> _Task | None:
        with self._lock:
            unwanted = [task for task in self._queue if not task.is_wanted]
            self._queue = [task for task in self._queue if task.is_wanted]
            for task in unwanted:
                self._drop(task)
            if not self._queue:
                self._thread = None
                return None
            first = next((task for task in self._queue if not task.is_ahead), self._queue[0])
            self._queue.remove(first)
            return first

    def _do(self, task: _Task) -> None:
        def report(share: float) -> None:
            task.share = share
            if not task.is_wanted or (task.is_ahead and self._has_other_work()):
                raise GivenUp
            self.traffic.let_pass(AHEAD_GIVES_WAY_S if task.is_ahead else GIVES_WAY_S)

        try:
            task.outcome = Ready(task.work(report))
        except GivenUp:
            self._put_off(task)
            return
        except (AnalysisError, NotebookError) as error:
            task.outcome = Failed(str(error), error)
            task.is_worth_keeping = isinstance(error, AnalysisError)
        except Exception as error:
            _LOG.exception("work for a page failed")
            task.is_worth_keeping = False
            task.outcome = Failed(_UNFORESEEN, error)
        task.done.set()

    def _has_other_work(self) -> bool:
        return any(not task.is_ahead for task in self._queue)

    def _put_off(self, task: _Task) -> None:
        """Queue again what stopped for something else; forget what nobody waits for."""
        with self._lock:
            if task.is_ahead and not task.is_cancelled:
                self._queue.append(task)
            else:
                self._drop(task)

    def _forget(self, task: _Task) -> None:
        with self._lock:
            if self._tasks.get(task.name) is task:
                del self._tasks[task.name]

    def _drop(self, task: _Task) -> None:
        """See that what nobody waits for is begun anew when it is asked for again."""
        if self._tasks.get(task.name) is task:
            task.is_cancelled = True
            del self._tasks[task.name]


FETCHED_ONCE = frozenset({"backup", "chart"})
"""Kinds of results that are files; each is let go of when it was handed out, or after a while."""
