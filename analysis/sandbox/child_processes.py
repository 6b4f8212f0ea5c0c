"""Child processes that wait for one job on standard input, and a spare one started ahead.

A child starts, loads its libraries, reads one line, does that job and ends; none is used twice.
Its start takes longer than most jobs, so whoever knows that a job will come soon may start a spare.
Every child ends by itself when its parent does, however that ends: its standard input closes.
"""

from __future__ import annotations

import atexit
import contextlib
import importlib.util
import signal
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import IO

from analysis.sandbox.limits import OUT_OF_MEMORY

IDLE_S = 600.0
# -I: nothing of the environment or of the folder the program happens to run in is imported;
# -S: no search through the site packages: the folders that are needed are handed over instead,
# which saves up to 0.1 s. Leaving by os._exit saves taking down all that was loaded. One thread
# for linear algebra: no child does any, and more of them would take as long to start as everything
# else, and address space.
_OPTIONS = ("-I", "-S")
_CODE = (
    "import os, sys; os.environ['OPENBLAS_NUM_THREADS'] = '1';"
    " sys.path.extend(sys.argv.pop(1).splitlines());"
    " from {module} import main; main(sys.argv[1:]); os._exit(0)"
)
_LIMIT_SIGNALS = ("SIGKILL", "SIGXCPU", "SIGXFSZ")


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


def child_code(module: str) -> str:
    """Return the code of a child: it calls `main` of a module of ours with its arguments."""
    return _CODE.format(module=module)


def isolated_command(code: str, needs: Sequence[str], *arguments: str) -> tuple[str, ...]:
    """Return the command that runs a child's code in a Python of its own.

    `needs` are the packages it may import; no others are found, but those beside them.
    """
    folders = _find_package_folders(tuple(needs))
    return (sys.executable, *_OPTIONS, "-c", code, folders, *arguments)


def met_limit(exit_code: int) -> bool:
    """Whether a child ended at one of its limits; otherwise it crashed."""
    limit_codes = {-getattr(signal, name, 0) for name in _LIMIT_SIGNALS} - {0}
    return exit_code == OUT_OF_MEMORY or exit_code in limit_codes


@cache
def _find_package_folders(needs: tuple[str, ...]) -> str:
    """The folders in which packages lie, one a line, without importing them."""
    specs = (importlib.util.find_spec(name) for name in needs)
    folders = [
        Path(spec.origin).parents[1 if spec.submodule_search_locations else 0]
        for spec in specs
        if spec is not None and spec.origin is not None
    ]
    return "\n".join(dict.fromkeys(str(folder) for folder in folders))


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
