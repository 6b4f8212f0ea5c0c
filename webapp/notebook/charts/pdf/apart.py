"""Typesets a large chart in a process of its own: the memory that takes goes with the process.

A chart of 5,000 entries takes more than a gigabyte. The specification goes to the child's standard
input, the PDF comes into a file that is its standard output, and on its standard error stands the
share that is done, a line each.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
import tempfile
from typing import IO

from webapp.notebook.charts.pdf.every_kind import AnySpec, render
from webapp.notebook.charts.pdf.feed import Report

_DRAWN_SHARE = 0.75  # of the time: drawing the entries; then they are set, which tells no share
_LOWER_PRIORITY = 10


def render_apart(spec: AnySpec, report: Report) -> IO[bytes]:
    """Make the PDF of a chart of any kind in a child process.

    Args:
        spec: what to print.
        report: is told the share that is done; what it raises ends the child.

    Returns:
        The PDF, in a file without a name that the caller closes.

    Raises:
        RuntimeError: the child failed; what it said stands in the error.
    """
    output = tempfile.TemporaryFile()  # noqa: SIM115 - handed out
    try:
        with _start(output) as child:
            try:
                said = _follow(child, spec, report)
            except BaseException:
                child.kill()
                raise
        if child.returncode:
            raise RuntimeError(f"the chart could not be set: {said}")
        output.seek(0)
    except BaseException:
        output.close()
        raise
    return output


def _start(output: IO[bytes]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", __name__],
        stdin=subprocess.PIPE,
        stdout=output,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )


def _follow(child: subprocess.Popen[bytes], spec: AnySpec, report: Report) -> str:
    """Hand the specification over, report the shares, and return what else the child said."""
    assert child.stdin is not None
    assert child.stderr is not None
    with contextlib.suppress(BrokenPipeError):  # it failed before; what it says tells why
        pickle.dump(spec, child.stdin)
        child.stdin.close()
    said = []
    for line in child.stderr:
        try:
            report(float(line))
        except ValueError:
            said.append(line.decode("utf-8", "replace"))
    return "".join(said)


def _work() -> None:
    if hasattr(os, "nice"):
        os.nice(_LOWER_PRIORITY)  # pages go first
    spec: AnySpec = pickle.load(sys.stdin.buffer)  # our own parent's, never a file's

    def report(share: float) -> None:
        sys.stderr.write(f"{share}\n")
        sys.stderr.flush()

    pdf = render(spec, lambda share: report(_DRAWN_SHARE * share))
    report(_DRAWN_SHARE)
    sys.stdout.buffer.write(pdf)


if __name__ == "__main__":
    _work()
