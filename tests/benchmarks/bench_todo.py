"""How long it takes to say what is still to do for a part, beside reading part and notebook.

Run by hand: `python -m tests.benchmarks.bench_todo`. 2,000 seeded notes, most of them quarter and
eighth tones, on a notebook of 10,000 invented fingerings. Time is told as processor time, which
counts on a busy machine.
"""

import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from analysis.pitch import WrittenPitch
from analysis.score import ReadingSettings, parse_typed_part, to_transcript
from tests.benchmarks.bench_search import fill
from webapp.notebook.opening import open_notebook
from webapp.notebook.pieces.needs import collect_needs, read_part_for
from webapp.notebook.pieces.todo import TodoNote, judge_needs, open_todo
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.answers import read_judge
from webapp.notebook.targets.range import ordinary_cents

NOTES, NOTES_A_BAR = 2_000, 8
FINGERINGS = 10_000
REPEATS = 7
MOST_S = 0.1
LENGTHS = ("1/16", "1/8", "1/4", "1/2")


def make_text() -> str:
    """A typed part of 2,000 notes between E3 and C7, at a known tempo."""
    chance = random.Random(7)
    bars = []
    for _ in range(NOTES // NOTES_A_BAR):
        notes = []
        for _ in range(NOTES_A_BAR):
            cents = 25 * chance.randrange(5200 // 25, 9600 // 25)
            notes.append(f"{WrittenPitch.from_cents(cents).canonical} ({chance.choice(LENGTHS)})")
        bars.append(", ".join(notes))
    return '1: D5 (1/4) "1/4=96" | ' + " | ".join(bars)


def measure_s(work: Callable[[], object]) -> float:
    """Median processor time of the repeats, the first run left out."""
    work()
    times = []
    for _ in range(REPEATS):
        began = time.process_time()
        work()
        times.append(time.process_time() - began)
    return statistics.median(times)


def main() -> None:
    """Print the figures in milliseconds; end with status 1 where it takes too long."""
    transcript, settings = to_transcript(parse_typed_part(make_text())), ReadingSettings()
    with tempfile.TemporaryDirectory() as folder:
        notebook = open_notebook(Path(folder))
        fill(notebook, FINGERINGS)
        with notebook.database.reading() as session:
            instrument = fetch(session, Instrument, 1)
            judge = read_judge(session, instrument)
        transposition = instrument.transposition
        ordinary = ordinary_cents(instrument.layout, instrument.kind_id)
        part = read_part_for(transcript, settings, transposition)

        def load() -> None:
            with notebook.database.reading() as session:
                read_judge(session, fetch(session, Instrument, 1))

        def answer() -> tuple[TodoNote, ...]:
            return judge_needs(collect_needs(part, transposition), judge, ordinary)

        print(f"{NOTES} notes, {len(answer())} need thought, {FINGERINGS} fingerings; milliseconds")
        answering_s = measure_s(answer)
        figures = {
            "reading the part": measure_s(
                lambda: read_part_for(transcript, settings, transposition)
            ),
            "reading the notebook": measure_s(load),
            "what is still to do": answering_s,
            "all of it": measure_s(lambda: open_todo(notebook, 1, transcript, settings)),
        }
        notebook.close()
    for name, seconds in figures.items():
        print(f"{name:24} {1000 * seconds:5.0f}")
    sys.exit(answering_s > MOST_S)


if __name__ == "__main__":
    main()
