"""Heap of the C library: freed memory goes back to the system, and threads share it.

By default glibc gives each thread a heap of its own, up to eight for each core, and learns from the
first large block that it frees to keep such blocks. A server with a few threads and, now and then,
a model then holds what nobody needs any more. Source: mallopt(3), "M_ARENA_MAX",
"M_TRIM_THRESHOLD"; the numbers of the parameters are those of malloc.h.
"""

import ctypes
import sys

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENA_MAX = -1, -3, -8
HEAPS = 2
KEPT_BYTES = 1 << 20
LARGE_BYTES = 1 << 18


def share_heaps() -> bool:
    """Limit the heaps of this process, before its threads begin; tell whether it was possible."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        change = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):  # another C library
        return False
    wanted = (
        (_ARENA_MAX, HEAPS), (_TRIM_THRESHOLD, KEPT_BYTES), (_MMAP_THRESHOLD, LARGE_BYTES),
    )  # fmt: skip
    return all(change(parameter, value) == 1 for parameter, value in wanted)
