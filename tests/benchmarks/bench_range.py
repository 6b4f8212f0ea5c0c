"""How long the range page takes in a notebook with 10,000 and 100,000 fingerings.

Run by hand: `python -m tests.benchmarks.bench_range`. The notebook is the invented one of
`bench_search`, all of it on one instrument; the page is asked for through the whole application.
Times are processor time, which other work on the machine moves less than the clock.

Below them stands what one rung costs as it is drawn, beside the whole offset drawing of a
fingering's page, which was the other way to draw a step.
"""

import statistics
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from tests.benchmarks import bench_search
from webapp.app import create_app
from webapp.drawing.offset import draw_offset
from webapp.drawing.range import LadderScale, Rung, draw_rung
from webapp.notebook.opening import open_notebook
from webapp.notebook.targets.range import open_range
from webapp.notebook.targets.search import SearchQuery

REPEATS = 15
SIZES = (300, 1_000, 10_000, 100_000)
PAGES = {
    "semitones": "/instruments/1/range?grid=12",
    "quarter tones": "/instruments/1/range",
    "eighth tones": "/instruments/1/range?grid=48",
    "filtered": "/instruments/1/range?resistance=4&whole=y&measured=y&within=10",
    "one register": "/instruments/1/range?register=clarion",
    "CSV": "/instruments/1/range.csv",
}


def clock(work: Callable[[], object], repeats: int = REPEATS) -> tuple[float, float]:
    """Return the median and the slowest processor time in milliseconds."""
    work()
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(1000 * (time.process_time() - start))
    return statistics.median(times), max(times)


def measure_pages(size: int) -> None:
    """Print the times and sizes of the pages of one notebook."""
    with tempfile.TemporaryDirectory() as folder:
        notebook = open_notebook(Path(folder))
        bench_search.fill(notebook, size)
        client = create_app(notebook).test_client()
        query = SearchQuery(instrument_id=1)
        print(f"\n{size} fingerings; milliseconds, median and slowest of {REPEATS}; kB")
        for name, address in PAGES.items():
            median, slowest = clock(partial(client.get, address))
            kilobytes = len(client.get(address).data) / 1000
            print(f"{name:24} {median:7.1f} {slowest:7.1f} {kilobytes:7.1f}")
        median, slowest = clock(lambda: open_range(notebook, 1, query))
        print(f"{'service alone':24} {median:7.1f} {slowest:7.1f}")
        notebook.close()


def draw_all(draw: Callable[[], str]) -> None:
    """Draw a picture for every step of a page of eighth tones."""
    for _ in range(180):
        draw()


def measure_drawings() -> None:
    """Print what one picture of a step costs."""
    scale = LadderScale(30.0, 10.0)
    ways: dict[str, Callable[[], str]] = {
        "rung": lambda: draw_rung(Rung.IN_TUNE, scale, offset_cents=3.2, uncertainty_cents=0.4),
        "offset drawing": lambda: draw_offset(3.2, 0.4, tolerance_cents=10.0),
    }
    print("\none picture: milliseconds for 180 of them, bytes of one")
    for name, draw in ways.items():
        median, _ = clock(partial(draw_all, draw))
        print(f"{name:24} {median:7.1f} {len(draw()):7}")


def main() -> None:
    """Measure every size, then the drawings."""
    for size in SIZES:
        measure_pages(size)
    measure_drawings()


if __name__ == "__main__":
    main()
