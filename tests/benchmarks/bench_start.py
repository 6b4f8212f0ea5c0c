"""Start: processor time until the server has given its first answer, and that of commands.

Run by hand: `python -m tests.benchmarks.bench_start [CHECKOUT]`; another checkout of the project
can be measured with the same tool. Each program is a process of its own, on a notebook with one
instrument and one fingering; what stands is user and system time of the process, the least of the
repeats, since a busy machine adds to it. The server's is read from /proc (proc(5)): Linux only.

What Python and the notebook compile is kept, as it is where the project is installed, in a folder
of the benchmark; the very first start, which compiles all, stands apart. The pages asked for after
the first stand with the time by the clock until they are there, while the rest is imported.
"""

import os
import re
import resource
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Mapping
from pathlib import Path

REPEATS = 3
COMMANDS = (
    ("instrument", "list"),
    ("search", "D5-50c", "--instrument", "Mine"),
    ("layouts",),
    ("suggest", "D5-50c", "--instrument", "b-flat-soprano"),
)
LOG = ("log", "T R 123 | 12-", "--for", "D5-50c", "--instrument", "Mine")
PAGES = ("range", "fingerings/new", "notes/D5-50c", "next?q=D5-50c")
_TICK = os.sysconf("SC_CLK_TCK")


def run(arguments: tuple[str, ...], environment: Mapping[str, str]) -> float:
    """Run a command of the project; return its processor time in s."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [sys.executable, "-m", "webapp", *arguments],
        env=environment,
        cwd=environment["PYTHONPATH"],
        check=True,
        capture_output=True,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def serve(
    environment: Mapping[str, str], *options: str, pages: tuple[str, ...] = ()
) -> list[float]:
    """Start a server and ask for its start page, then for others of the first instrument.

    Returns:
        Processor time in s until it has answered, then the seconds by the clock: until then from
        the start, and for each page.
    """
    begun = time.monotonic()
    server = subprocess.Popen(
        [sys.executable, "-m", "webapp", "serve", "--no-browser", "--port", "0", *options],
        env=environment,
        cwd=environment["PYTHONPATH"],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert server.stdout is not None
        found = re.search(r"http://[\d.:]+", server.stdout.readline())
        assert found is not None
        _ask(f"{found[0]}/")
        fields = Path(f"/proc/{server.pid}/stat").read_text("ascii").rpartition(")")[2].split()
        times = [(int(fields[11]) + int(fields[12])) / _TICK, time.monotonic() - begun]
        for page in pages:
            begun = time.monotonic()
            _ask(f"{found[0]}/instruments/1/{page}")
            times.append(time.monotonic() - begun)
        return times
    finally:
        server.terminate()
        server.wait(60)
        assert server.stdout is not None
        server.stdout.close()


def _ask(address: str) -> None:
    with urllib.request.urlopen(address, timeout=60) as answer:
        answer.read()


def main(checkout: str) -> None:
    """Print what each start takes."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {
            **{name: value for name, value in os.environ.items() if "PYTHON" not in name},
            "PYTHONPATH": checkout,
            "PYTHONUNBUFFERED": "1",
            "PYTHONPYCACHEPREFIX": f"{folder}/compiled",
            "QUARTERVENT_INSTANCE": f"{folder}/notebook",
        }
        run(("instrument", "add", "Mine", "--kind", "b-flat soprano"), environment)
        run(LOG, environment)
        print("| start | processor s | by the clock s |\n|---|---|---|")
        first = serve(environment)
        print(f"| own notebook, all compiled anew | {first[0]:.2f} | {first[1]:.2f} |", flush=True)
        for name, options in (("own notebook", ()), ("demo", ("--demo",))):
            found = [serve(environment, *options) for _ in range(REPEATS)]
            least = [min(column) for column in zip(*found, strict=True)]
            print(f"| {name} | {least[0]:.2f} | {least[1]:.2f} |", flush=True)
        for command in (*COMMANDS, LOG):
            least_s = min(run(command, environment) for _ in range(REPEATS))
            print(f"| `{' '.join(command[:2])}` | {least_s:.2f} | |", flush=True)
        found = [serve(environment, pages=PAGES) for _ in range(REPEATS)]
        for name, *seconds in zip(PAGES, *(each[2:] for each in found), strict=True):
            print(f"| then {name} | | {min(seconds):.2f} |", flush=True)


if __name__ == "__main__":
    main(sys.argv[1] if sys.argv[1:] else str(Path(__file__).parents[2]))
