"""The child's own limits, each set in a process of its own."""

from __future__ import annotations

import subprocess
import sys

import pytest

from analysis.sandbox.limits import OUT_OF_MEMORY

pytest.importorskip("resource", reason="this system knows no such limits")


def _run(code: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=False, timeout=60
    )


def _run_afresh(code: str) -> subprocess.CompletedProcess[bytes]:
    """Run in the child of a small process.

    A process starts with its parent's peak of memory on its account, and this one's is large.
    """
    return _run(
        f"import subprocess, sys\nsys.exit(subprocess.call([sys.executable, '-c', {code!r}]))\n"
    )


def test_memory_beyond_the_allowance_is_refused() -> None:
    done = _run(
        "from analysis.sandbox.limits import limit_resources\n"
        "limit_resources(1000)\n"
        "try:\n    bytearray(2**31)\nexcept MemoryError:\n    print('refused')\n"
    )
    assert done.stdout.strip() == b"refused" or done.returncode == OUT_OF_MEMORY


def test_the_watch_ends_a_process_that_grows() -> None:
    done = _run_afresh(
        "import threading\n"
        "from analysis.sandbox import limits\n"
        "threading.Thread(target=limits.watch_memory, args=(2**24,), daemon=True).start()\n"
        "blocks = [b'x' * 2**24 for _ in range(16)]\n"
        # a minute, which the watch does not let it have
        "threading.Event().wait(60)\n"
    )
    assert done.returncode == OUT_OF_MEMORY


def test_the_watch_lets_a_small_process_be() -> None:
    done = _run(
        "import threading\n"
        "from analysis.sandbox import limits\n"
        "threading.Thread(target=limits.watch_memory, daemon=True).start()\n"
        "threading.Event().wait(0.2)\n"
    )
    assert done.returncode == 0


def test_processor_time_is_limited() -> None:
    done = _run(
        "from analysis.sandbox.limits import limit_resources\n"
        "limit_resources(1000, 1)\n"
        "while True:\n    pass\n"
    )
    assert done.returncode < 0


def test_output_is_limited() -> None:
    done = _run(
        "import tempfile\n"
        "from analysis.sandbox.limits import limit_resources\n"
        "limit_resources(1000)\n"
        "try:\n"
        "    with tempfile.TemporaryFile(buffering=0) as file:\n"
        "        file.write(bytes(1000))\n"
        "        file.write(bytes(1))\n"
        "except OSError:\n    print('refused')\n"
    )
    assert done.stdout.strip() == b"refused"
