"""Start: processor time until the server has given its first answer, and that of commands.

Run by hand: `python -m tests.benchmarks.bench_start [CHECKOUT...]`. Several checkouts of the
project are measured by turns, so that a busy machine is as busy for each. Each program is a process
of its own, on a notebook with one instrument and one fingering, or on a fresh one. What stands is
user and system time of the process, the least of the repeats, since a busy machine adds to it. The
server's is read from /proc (proc(5)): Linux only.

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
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
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
        Processor time in s until it has answered, then the seconds by the clock for each page.
    """
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
        times = [(int(fields[11]) + int(fields[12])) / _TICK]
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


def serve_fresh(environment: Mapping[str, str]) -> float:
    """Start a server on a folder that is not there yet; return its processor time in s."""
    with tempfile.TemporaryDirectory() as folder:
        return serve({**environment, "QUARTERVENT_INSTANCE": f"{folder}/notebook"})[0]


STARTS: dict[str, Callable[[Mapping[str, str]], float]] = {
    "own notebook": lambda environment: serve(environment)[0],
    "fresh notebook": serve_fresh,
    "demo": lambda environment: serve(environment, "--demo")[0],
    **{f"`{words[0]}`": partial(run, words) for words in (*COMMANDS, LOG)},
}


def prepare(checkout: str, folder: str) -> dict[str, str]:
    """Return the environment of a checkout, with a notebook and all that is kept in a folder."""
    environment = {
        **{name: value for name, value in os.environ.items() if "PYTHON" not in name},
        "PYTHONPATH": checkout,
        "PYTHONUNBUFFERED": "1",
        "PYTHONPYCACHEPREFIX": f"{folder}/compiled",
        "QUARTERVENT_INSTANCE": f"{folder}/notebook",
    }
    run(("instrument", "add", "Mine", "--kind", "b-flat soprano"), environment)
    run(LOG, environment)
    return environment


def tell(name: str, seconds: Iterable[float]) -> None:
    """Print a row of the table."""
    print(f"| {name} | {' | '.join(f'{each:.2f}' for each in seconds)} |", flush=True)


def main(checkouts: Sequence[str]) -> None:
    """Print what each start takes, with a column for each checkout."""
    with tempfile.TemporaryDirectory() as folder:
        environments = [
            prepare(each, f"{folder}/{number}") for number, each in enumerate(checkouts)
        ]
        print(f"| start |{' processor s |' * len(checkouts)}")
        print("|---" * (1 + len(checkouts)) + "|")
        tell("own notebook, all compiled anew", [serve(each)[0] for each in environments])
        for name, start in STARTS.items():
            turns = [[start(each) for each in environments] for _ in range(REPEATS)]
            tell(name, map(min, zip(*turns, strict=True)))
        asked = [[serve(each, pages=PAGES)[1:] for each in environments] for _ in range(REPEATS)]
        for number, page in enumerate(PAGES):
            turns = [[seconds[number] for seconds in turn] for turn in asked]
            tell(f"then {page}, by the clock", map(min, zip(*turns, strict=True)))


if __name__ == "__main__":
    main(sys.argv[1:] or [str(Path(__file__).parents[2])])
