"""Child processes that wait for one job on standard input, and a spare one started ahead.

A child starts, loads its libraries, reads one line, does that job and ends; none is used twice.
Its start takes longer than most jobs, so whoever knows that a job will come soon may start a spare.
Every child ends by itself when its parent does, however that ends: its standard input closes.
"""

from __future__ import annotations

import atexit
import contextlib
import subprocess
import tempfile
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import IO

IDLE_S = 600.0


@dataclass(frozen=True, slots=True, eq=False)
class Child:
    """A process that waits for its job; what it writes lands in `output`, a file without a name."""

    process: subprocess.Popen[bytes]
    output: IO[bytes]

    def __enter__(self) -> Child:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.end()

    def hand_over(self, job: bytes) -> bool:
        """Give the child its one job; tell whether it could still be given."""
        assert self.process.stdin is not None
        try:
            self.process.stdin.write(job + b"\n")
            self.process.stdin.close()
        except OSError:
            return False
        return True

    def wait(self, timeout_s: float) -> int | None:
        """Return how it ended, as soon as it does, or None if it takes too long.

        `Popen.wait` with a timeout looks again and again, up to 50 ms after the end.
        """
        waiting = threading.Thread(target=self.process.wait, daemon=True)
        waiting.start()
        waiting.join(timeout_s)
        return None if waiting.is_alive() else self.process.returncode

    def end(self) -> None:
        """Make sure that nothing is left of it but what still uses its output."""
        self.process.kill()
        self.process.wait()
        with contextlib.suppress(OSError):
            assert self.process.stdin is not None
            self.process.stdin.close()
        self.output.close()


def start_child(command: Sequence[str]) -> Child:
    """Start a child process that waits for its job."""
    output = tempfile.TemporaryFile()  # noqa: SIM115 - the child's, closed with it
    process = subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=output,
        stderr=subprocess.DEVNULL,
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )
    return Child(process, output)


class SpareChild:
    """At most one child that waits for whoever comes next; it ends when nobody comes for long."""

    def __init__(self, start: Callable[[], Child], idle_s: float = IDLE_S) -> None:
        self._start = start
        self._idle_s = idle_s
        self._lock = threading.Lock()
        self._child: Child | None = None
        self._timer: threading.Timer | None = None

    def prepare(self) -> None:
        """Start a spare, or let the one that is there wait longer."""
        with self._lock:
            if self._child is None or self._child.process.poll() is not None:
                self._drop()
                self._child = self._start()
                atexit.register(self.stop)
            self._wait_anew()

    def take(self) -> Child | None:
        """Return the spare, which is then the caller's, if there is one."""
        with self._lock:
            child, self._child = self._child, None
            self._cancel()
        if child is not None and child.process.poll() is not None:
            child.end()
            return None
        return child

    def stop(self) -> None:
        """End the spare."""
        with self._lock:
            self._cancel()
            self._drop()
            atexit.unregister(self.stop)

    def _wait_anew(self) -> None:
        self._cancel()
        self._timer = threading.Timer(self._idle_s, self.stop)
        self._timer.daemon = True
        self._timer.start()

    def _cancel(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _drop(self) -> None:
        if self._child is not None:
            self._child.end()
            self._child = None
