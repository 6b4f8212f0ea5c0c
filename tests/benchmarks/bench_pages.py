"""How long the server takes for its pages in notebooks with 1,000, 10,000 and 100,000 fingerings.

Run by hand from the checkout: `python -m tests.benchmarks.bench_pages [SIZE ...]`. The notebook is
invented: keys are ordinary fingerings with up to three keys changed, three fifths are measured,
pitches scatter as a player's do, one entry has a real take. Each page is asked for through the
whole application, templates and drawings included.

Times are processor time of the thread that answers, the least of the repeats: what other programs
do moves it less than the clock, though a busy machine still shares its caches and its cores (so
compare numbers of one run). Of each page stand the first request of the process, which reads what
is kept in memory afterwards, the same page again, and the page after a fingering was changed. What
is made in the background is not counted, only asked for.

The last column of a size is the page's HTML in kB. Below stands the page of an entry with many
takes.
"""

import random
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import insert
from sqlalchemy.orm import selectinload

from analysis.keywork import (
    KeyStates,
    Layout,
    State,
    assess_ease,
    format_fingering,
    hole_signature,
    ordinary_fingerings,
)
from analysis.keywork.errors import KeyworkError
from analysis.pitch import WrittenPitch
from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import add_clarinet, attach, log
from tests.webapp.tones import tone_wav
from webapp.app import create_app
from webapp.notebook.charts.charts import ChartChoice, make_chart
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.opening import open_notebook
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Measurement, Take

SIZES = (1_000, 10_000, 100_000)
REPEATS = 5
KINDS_OF_KEYS = 2_000
CHART_ENTRIES = 300
TAKES = 1_000
PAGES = {
    "start": "/",
    "search": "/search?q=D5-50c&instrument=1",
    "search, every instrument": "/search?q=D5-50c",
    "entry": "/fingerings/1",
    "edit": "/fingerings/1/edit",
    "log form": "/instruments/1/fingerings/new",
    "range": "/instruments/1/range",
    "stand": "/instruments/1/stand?q=D5-50c",
    "compare": "/compare?first=ordinary:D5:1&second=logged:1&instrument=1",
    "instrument": "/instruments/1",
    "key effects": "/instruments/1/key-effects",
    "first day": "/instruments/1/first-day",
    "note": "/instruments/1/notes/D5-50c",
    "charts": "/instruments/1/chart",
    "practise": "/instruments/1/practice",
    "unsorted": "/instruments/1/unsorted",
    "hand on": "/instruments/1/hand-on",
    "try list": "/instruments/1/tries",
    "plan": "/instruments/1/plan",
    "predictions": "/instruments/1/predictions",
}


def invent_keys(layout: Layout, chance: random.Random) -> list[dict[str, Any]]:
    """Return columns for different fingerings: ordinary ones with up to three keys changed."""
    ordinary = [each.fingering for each in ordinary_fingerings(layout)]
    found: dict[str, dict[str, Any]] = {}
    for _ in range(20 * KINDS_OF_KEYS):
        states = dict(
            zip((key.id for key in layout.keys), chance.choice(ordinary).states, strict=True)
        )
        for key in chance.sample(layout.keys, chance.randrange(4)):
            states[key.id] = State.DOWN if states[key.id] is State.UP else State.UP
        try:
            keys = KeyStates.of(layout, states)
        except KeyworkError:
            continue
        text = format_fingering(keys)
        found[text] = {
            "keys_text": text,
            "has_half_hole": keys.has_half_hole,
            "hole_signature": hole_signature(keys),
            "ease": assess_ease(keys).figure,
        }
        if len(found) == KINDS_OF_KEYS:
            break
    return list(found.values())


def invent_rows(layout: Layout, size: int) -> Iterator[dict[str, Any]]:
    """Yield the rows of fingerings on a B-flat soprano, which sounds a whole tone lower."""
    chance = random.Random(3)
    keys = invent_keys(layout, chance)
    for number in range(size):
        written = WrittenPitch.from_cents(25 * chance.randrange(5200 // 25, 9400 // 25))
        is_measured = chance.random() < 0.6
        offset = chance.gauss(0, 12) if is_measured else None
        target = float(written.cents) - 200.0
        yield {
            **chance.choice(keys),
            "id": 100 + number,
            "instrument_id": 1,
            "target_text": written.canonical,
            "target_typed": written.canonical,
            "strategy": "found",
            "resistance": chance.choice([None, 1, 2, 3, 4, 5]),
            "does_not_speak": chance.random() < 0.05,
            "written_cents": float(written.cents),
            "target_cents": target,
            "sounding_cents": target + (offset or 0.0),
            "offset_cents": offset,
            "offset_uncertainty_cents": 3.0 if is_measured else None,
            "spread_cents": chance.uniform(0, 6) if is_measured else None,
            "take_count": chance.randrange(1, 5) if is_measured else 0,
            "version": 1,
        }


def fill(notebook: Notebook, size: int) -> None:
    """Fill a notebook with one entry that has a take, and many rows."""
    clarinet = add_clarinet(notebook)
    attach(
        notebook,
        log(notebook, clarinet, "D5 -50", "T R 123 | 12-"),
        tone_wav(440 * 2 ** (252 / 1200), duration_s=2.0),
    )
    layout = open_instrument(notebook, clarinet).layout
    with notebook.database.writing() as session:
        session.execute(insert(Fingering), list(invent_rows(layout, size)))


def measure_pages(notebook: Notebook) -> list[str]:
    """Return the milliseconds of each page (at first, again, after a change) and its kB."""
    app = create_app(notebook)
    browser = Browser(app)
    cells = []
    for address in PAGES.values():
        first, changed = _time(browser, address), []
        again = [_time(browser, address) for _ in range(REPEATS)]
        for number in range(REPEATS):
            change(notebook, 200 + number)
            changed.append(_time(browser, address))
        size = len(browser.fetch(address).data)
        cells.append(f"{first:.0f} | {min(again):.0f} | {min(changed):.0f} | {size / 1000:.0f}")
    app.extensions["result_cache"].stop(60)
    return cells


def change(notebook: Notebook, number: int) -> None:
    """Let a fingering sound a little higher, as one more take would."""
    with notebook.database.writing() as session:
        row = session.get_one(Fingering, number)
        row.take_count += 1
        row.offset_cents = (row.offset_cents or 0.0) + 1.0
        row.sounding_cents += 1.0


def _time(browser: Browser, address: str) -> float:
    start = time.thread_time()
    assert browser.fetch(address).status_code == 200, address
    return 1000 * (time.thread_time() - start)


def measure_many_takes(notebook: Notebook) -> None:
    """Print the milliseconds of an entry with many takes."""
    with notebook.database.writing() as session:
        take = session.get_one(Take, 1, options=[selectinload(Take.measurements)])
        left_out = {"id", "clip_name", "sha256"}
        columns = {
            each.key: getattr(take, each.key)
            for each in Take.__table__.columns
            if each.key not in left_out
        }
        (measurement,) = take.measurements
        details = {
            each.key: getattr(measurement, each.key)
            for each in Measurement.__table__.columns
            if each.key not in {"id", "take_id"}
        }
        for number in range(2, TAKES + 1):
            name = f"{number:064d}"
            session.add(
                Take(
                    **columns,
                    sha256=name,
                    clip_name=f"{name}.wav",
                    measurements=[Measurement(**details)],
                )
            )
        session.flush()
        session.get_one(Fingering, 1).take_count = TAKES
    browser = Browser(create_app(notebook))
    times = [_time(browser, PAGES["entry"]) for _ in range(1 + REPEATS)]
    print(f"\nAn entry with {TAKES:,} takes: {min(times):.0f} ms")


def measure_chart(notebook: Notebook) -> float:
    """Return the seconds for a chart of some hundred entries, the least of the repeats."""
    times = []
    for _ in range(REPEATS):
        start = time.thread_time()
        chart = make_chart(notebook, ChartChoice(1), writing=Writing())
        times.append(time.thread_time() - start)
    print(f"\nA chart of {chart.entry_count} entries: {min(times):.2f} s")
    return min(times)


def main(sizes: Sequence[int]) -> None:
    """Print a table of all pages and sizes, then the chart."""
    columns = []
    for size in sizes:
        with tempfile.TemporaryDirectory() as folder, closing(open_notebook(Path(folder))) as one:
            fill(one, size)
            columns.append(measure_pages(one))
    heads = (f"{size:,}: first | again | changed | kB" for size in sizes)
    print("| page, ms | " + " | ".join(heads) + " |")
    print("|---|" + "---|" * 4 * len(sizes))
    for name, cells in zip(PAGES, zip(*columns, strict=True), strict=True):
        print(f"| {name} | " + " | ".join(cells) + " |")
    with tempfile.TemporaryDirectory() as folder, closing(open_notebook(Path(folder))) as one:
        fill(one, CHART_ENTRIES)
        measure_chart(one)
        measure_many_takes(one)


if __name__ == "__main__":
    main([int(each) for each in sys.argv[1:]] or SIZES)
