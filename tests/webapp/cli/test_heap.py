"""The heap of the C library gives back what is freed.

Seen in processes of their own; their resident set is read from the system (proc(5), `VmRSS`). Once
a large block was freed, glibc takes blocks up to that size from the heap (mallopt(3),
"M_MMAP_THRESHOLD": the threshold is adjusted), where a small one behind them keeps them all.
"""

import platform
import subprocess
import sys

from webapp.cli.heap import share_heaps

FREE_BEFORE_A_SMALL_ONE = """
from pathlib import Path
from webapp.cli.heap import share_heaps

def resident_kb():
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line for line in lines if line.startswith("VmRSS:")).split()[1])

assert {is_shared} is False or share_heaps()
large = bytearray(30_000_000)
del large
before = resident_kb()
many = [bytearray(300_000) for _ in range(100)]
behind = [bytearray(100_000) for _ in range(10)]
del many
print(resident_kb() - before)
"""


def measure_kept_kb(*, is_shared: bool) -> int:
    """How much more a process holds after it freed 30 MB."""
    script = FREE_BEFORE_A_SMALL_ONE.replace("{is_shared}", str(is_shared))
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return int(done.stdout)


def test_what_is_freed_goes_back_to_the_system_and_without_it_does_not() -> None:
    if platform.libc_ver()[0] != "glibc":
        assert not share_heaps(), "nothing is changed where it is not known"
        return
    assert measure_kept_kb(is_shared=True) < 5_000
    assert measure_kept_kb(is_shared=False) > 20_000, "the test sees what it is about"
