"""Memory of the server: after the start, with the models of two instruments, after many requests.

Run by hand from the checkout: `python -m tests.benchmarks.bench_server_memory`. The real server is
started as a child process on a notebook of invented fingerings; its resident set is read from the
system (`VmRSS` and its peak `VmHWM` in /proc, see proc(5)). Linux only.

`--requests` says how many pages are asked for in all, by four threads at once, in a fixed order of
all kinds: pages of many entries, searches, plots, charts, pictures, suggestions, CSV.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from itertools import cycle, islice
from pathlib import Path

from tests.benchmarks import bench_search
from tests.webapp.logging_rows import attach, log
from tests.webapp.tones import tone_wav
from webapp.notebook.instruments.instruments import InstrumentDraft, add_instrument
from webapp.notebook.opening import open_notebook

FINGERINGS = 1000
REQUESTS = 4000
AT_ONCE = 4
SETTLED_S = 5.0
TARGETS = ("D5-50c", "G4%2B50c", "A5-50c", "E5-50c", "F4%2B25c")
PLOTS = ("levels.png", "trace.svg", "spectrum.svg", "trace.csv")
BASS = InstrumentDraft("Benchmark bass", "b-flat-bass", "bass-low-c", 440.0)


@contextmanager
def serving(folder: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Start the real server on a notebook, and end it afterwards."""
    server = subprocess.Popen(
        [sys.executable, "-m", "webapp", "serve", "--no-browser", "--port", "0"],
        env={**os.environ, "QUARTERVENT_INSTANCE": str(folder), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert server.stdout is not None
        address = re.search(r"http://\S+", server.stdout.readline())
        assert address is not None
        yield server, address[0].rstrip("/")
    finally:
        server.terminate()
        server.wait(30)


def read_memory(server: subprocess.Popen[str], name: str) -> float:
    """Read a line of the process's status, in MB."""
    status = Path(f"/proc/{server.pid}/status").read_text("utf-8")
    return int(next(line for line in status.splitlines() if line.startswith(name)).split()[1]) / 1e3


def fetch(address: str) -> str:
    """Ask for a page; return its text, or nothing where it is no text."""
    with urllib.request.urlopen(address, timeout=600) as answer:
        data = answer.read()
        return data.decode("utf-8") if "text" in answer.headers["Content-Type"] else ""


def make_notebook(folder: Path, size: int) -> None:
    """Fill a notebook: two instruments, and some entries that were recorded."""
    with closing(open_notebook(folder)) as notebook:
        bench_search.fill(notebook, size)
        add_instrument(notebook, BASS)
        for number, keys in enumerate(("T R 123 | 12-", "T R 123 | 123", "T 123 | 12-")):
            entry = log(notebook, 1, "D5", keys)
            for take in range(3):
                cents = 252 + 40 * number + take
                attach(notebook, entry, tone_wav(440 * 2 ** (cents / 1200), duration_s=2.0))


def suggest(base: str, instrument: int, target: str) -> None:
    """Ask for suggestions until they are there."""
    while "data-working" in fetch(f"{base}/instruments/{instrument}/next?q={target}"):
        time.sleep(1.0)


def list_pages(size: int) -> Sequence[str]:
    """Return addresses of every kind."""
    entries = [f"/fingerings/{size + number}" for number in (1, 2, 3)]
    return (
        "/", "/about", "/instruments/1", "/instruments/2", "/instruments/1/range",
        "/instruments/1/range.csv", "/instruments/1/range?grid=48", "/instruments/2/range",
        *(f"/search?q={target}&instrument=1" for target in TARGETS),
        *(f"/search?q={target}" for target in TARGETS),
        *entries, *(f"{entry}/edit" for entry in entries),
        "/fingerings/1", "/fingerings/2", "/fingerings/3", "/instruments/1/fingerings/new",
        *(f"/instruments/1/stand?q={target}" for target in TARGETS),
        *(f"/instruments/1/next?q={target}" for target in TARGETS),
        *(f"/instruments/2/next?q={target}" for target in TARGETS[:2]),
        f"/compare?first=ordinary:D5:1&second=logged:{size + 1}&instrument=1",
        "/instruments/1/key-effects", "/instruments/1/first-day", "/instruments/1/unsorted",
        "/instruments/1/tries", "/instruments/1/chart", "/layouts", "/layouts/soprano-17-6",
        *(f"/takes/{take}" for take in range(1, 4)),
        *(f"/takes/{take}/{plot}" for take in range(1, 10) for plot in PLOTS),
        "/instruments/1/chart.pdf?low=D5&high=E5", "/layouts/bass-low-c/chart.pdf",
    )  # fmt: skip


def ask_all(base: str, pages: Sequence[str], count: int) -> dict[str, int]:
    """Ask for many pages, some at once; return how often each answer was none."""
    refused: dict[str, int] = {}

    def ask(page: str) -> None:
        try:
            fetch(f"{base}{page}")
        except urllib.error.HTTPError as error:
            refused[f"{error.code} {page}"] = refused.get(f"{error.code} {page}", 0) + 1

    with ThreadPoolExecutor(AT_ONCE) as pool:
        list(pool.map(ask, islice(cycle(pages), count)))
    return refused


def main() -> None:
    """Print the memory of each stage."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fingerings", type=int, default=FINGERINGS)
    parser.add_argument("--requests", type=int, default=REQUESTS)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "notebook"
        make_notebook(folder, asked.fingerings)
        print("| stage | resident MB | peak MB |\n|---|---|---|")
        with serving(folder) as (server, base):

            def tell(stage: str) -> None:
                time.sleep(SETTLED_S)
                resident, peak = (read_memory(server, each) for each in ("VmRSS:", "VmHWM:"))
                print(f"| {stage} | {resident:.0f} | {peak:.0f} |", flush=True)

            tell("after the start")
            fetch(f"{base}/")
            tell("after the first page")
            for instrument in (1, 2):
                suggest(base, instrument, TARGETS[0])
                tell(f"with the model of instrument {instrument}")
            done = 0
            for part in (asked.requests // 4, asked.requests - asked.requests // 4):
                refused = ask_all(base, list_pages(asked.fingerings), part)
                done += part
                tell(f"after {done} requests")
            for page, count in refused.items():
                print(f"refused {count} times: {page}")


if __name__ == "__main__":
    main()
