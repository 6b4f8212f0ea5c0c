"""How long a search page takes in a notebook with 100,000 fingerings.

Run by hand: `python -m tests.benchmarks.bench_search`. The notebook is made of invented rows,
written with plain inserts (logging each through the services would take minutes and measure
something else); the page is asked for through the whole application, templates and drawings
included.
"""

import random
import statistics
import tempfile
import time
from pathlib import Path

from sqlalchemy import insert

from analysis.keywork import format_fingering, ordinary_fingerings
from analysis.pitch import WrittenPitch
from webapp.app import create_app
from webapp.notebook.instruments.instruments import InstrumentDraft, add_instrument, open_instrument
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering

FINGERINGS = 100_000
REPEATS = 15
PAGES = {
    "hits": "/search?q=D5-50c&instrument=1",
    "hits, filtered": "/search?q=D5-50c&instrument=1&resistance=4&whole=y&register=clarion",
    "hits, every instrument": "/search?q=C5-50c&instrument=&within=50",
    "nothing yet": "/search?q=D5-50c&instrument=1&within=0.0001",
    "everything": "/search?instrument=1",
    "start page": "/",
    "instrument page": "/instruments/1",
}


def fill(notebook: Notebook, count: int = FINGERINGS) -> None:
    """Write the invented rows of one instrument."""
    draft = InstrumentDraft("Benchmark soprano", "b-flat-soprano", "soprano-17-6", 440.0)
    instrument = open_instrument(notebook, add_instrument(notebook, draft))
    texts = [format_fingering(each.fingering) for each in ordinary_fingerings(instrument.layout)]
    chance = random.Random(7)
    rows = []
    for _ in range(count):
        written = WrittenPitch.from_cents(25 * chance.randrange(5200 // 25, 9100 // 25))
        offset = chance.gauss(0, 12)
        is_measured = chance.random() < 0.6
        target = instrument.transposition.to_sounding(written).cents
        rows.append(
            {
                "instrument_id": instrument.id,
                "keys_text": chance.choice(texts),
                "target_text": written.canonical,
                "strategy": "found",
                "resistance": chance.choice([None, 1, 2, 3, 4, 5]),
                "has_half_hole": chance.random() < 0.1,
                "does_not_speak": chance.random() < 0.05,
                "written_cents": float(written.cents),
                "target_cents": target,
                "take_count": chance.randrange(1, 5) if is_measured else 0,
                "offset_cents": offset if is_measured else None,
                "offset_uncertainty_cents": 1.0 if is_measured else None,
                "sounding_cents": target + offset if is_measured else target,
                "version": 1,
            }
        )
    with notebook.database.writing() as session:
        session.execute(insert(Fingering), rows)


def main() -> None:
    """Print the median and the slowest of the repeats for each page, in milliseconds."""
    with tempfile.TemporaryDirectory() as folder:
        notebook = open_notebook(Path(folder))
        fill(notebook)
        client = create_app(notebook).test_client()
        print(f"{FINGERINGS} fingerings; milliseconds a page, median and slowest of {REPEATS}")
        for name, address in PAGES.items():
            client.get(address)
            times = []
            for _ in range(REPEATS):
                start = time.perf_counter()
                response = client.get(address)
                times.append(1000 * (time.perf_counter() - start))
                assert response.status_code == 200, response.status
            print(f"{name:24} {statistics.median(times):7.1f} {max(times):7.1f}")
        notebook.close()


if __name__ == "__main__":
    main()
