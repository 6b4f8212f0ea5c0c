"""Limits the child sets itself: processor time, memory, output.

Where the system knows none (Windows) the parent's clock still ends a decoder that hangs.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from pathlib import Path

MAX_CPU_S = 20
EXTRA_MEMORY_BYTES = 384 * 1024 * 1024
OUT_OF_MEMORY = 17  # exit code
WATCH_S = 0.05


def limit_resources(
    max_output_bytes: int,
    max_cpu_s: int = MAX_CPU_S,
    extra_memory_bytes: int = EXTRA_MEMORY_BYTES,
) -> None:
    """Processor time, memory beyond what is held now, and output, where the system can."""
    try:
        import resource
    except ImportError:  # Windows
        return
    limits = [
        (resource.RLIMIT_CPU, max_cpu_s),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, max_output_bytes),
    ]
    held = _find_held_memory()
    if held is not None:
        limits.append((resource.RLIMIT_AS, held + extra_memory_bytes))
    for name, most in limits:
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(name, (most, most))
    if held is None:  # macOS keeps to no limit of address space
        threading.Thread(target=watch_memory, args=(extra_memory_bytes,), daemon=True).start()


def watch_memory(extra_memory_bytes: int = EXTRA_MEMORY_BYTES) -> None:
    """End this process when its memory in use grows beyond its allowance."""
    import resource

    unit = 1 if sys.platform == "darwin" else 1024
    pause = threading.Event()
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    while resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - held <= extra_memory_bytes // unit:
        pause.wait(WATCH_S)
    os._exit(OUT_OF_MEMORY)


def _find_held_memory() -> int | None:
    """Address space in use now, where /proc tells it."""
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    except (OSError, ValueError):
        return None
    return pages * os.sysconf("SC_PAGE_SIZE")
