"""How long it takes to finger a passage of 1,000 notes, the first time and again.

Run by hand: `python -m tests.benchmarks.bench_passage`. A seeded line that goes mostly by step, a
third of it quarter tones, on a notebook of 2,000 invented fingerings. The first time the way
between any two fingerings has to be worked out; a notebook that is served knows it afterwards.
Time is told as processor time, which counts on a busy machine.
"""

import random
import sys
import tempfile
import time
from pathlib import Path

from analysis.pitch import WrittenPitch
from analysis.planning import load_motion_table
from analysis.score import ReadingSettings, parse_typed_part, to_transcript
from tests.benchmarks.bench_search import fill
from webapp.notebook.opening import open_notebook
from webapp.notebook.pieces.fingered import finger_bars
from webapp.notebook.pieces.needs import read_part_for
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.passage_steps import FingeredPassage
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.rows import Instrument

NOTES, NOTES_A_BAR = 1_000, 8
FINGERINGS = 2_000
LOWEST, HIGHEST = 5200, 8900
MOST_FIRST_S, MOST_AGAIN_S = 2.0, 0.3


def make_text() -> str:
    """A typed part: steps up and down, some leaps, every third note a quarter tone."""
    chance = random.Random(11)
    cents, bars = 7200, []
    for bar in range(NOTES // NOTES_A_BAR):
        notes = []
        for place in range(NOTES_A_BAR):
            step = chance.choice((-400, -200, -200, -100, 100, 200, 200, 400))
            cents = min(max(cents + step, LOWEST), HIGHEST)
            altered = cents + (50 if place % 3 == 2 else 0)
            tempo = ' "1/4=96"' if bar == place == 0 else ""
            notes.append(f"{WrittenPitch.from_cents(altered).canonical} (1/8){tempo}")
        bars.append("~".join(notes))
    return "1: " + " | ".join(bars)


def main() -> None:
    """Print the figures in milliseconds; end with status 1 where it takes too long."""
    transcript = to_transcript(parse_typed_part(make_text()))
    with tempfile.TemporaryDirectory() as folder:
        notebook = open_notebook(Path(folder))
        fill(notebook, FINGERINGS)

        def finger() -> FingeredPassage:
            with notebook.database.reading() as session:
                instrument = fetch(session, Instrument, 1)
                part = read_part_for(transcript, ReadingSettings(), instrument.transposition)
                return finger_bars(session, instrument, part, Stretch(0, len(part.bars) - 1))

        with notebook.database.reading() as session:
            instrument = fetch(session, Instrument, 1)
            load_motion_table(instrument.kind_id, instrument.layout)
        seconds = []
        for _ in range(4):
            began = time.process_time()
            found = finger()
            seconds.append(time.process_time() - began)
        notebook.close()
    first_s, again_s = seconds[0], min(seconds[1:])
    options = sum(len(each.alternatives) + (each.option is not None) for each in found.steps)
    print(
        f"{len(found.steps)} notes, {options} options, {len(found.open_steps)} open; milliseconds"
    )
    print(f"{'the first time':16} {1000 * first_s:6.0f}")
    print(f"{'again':16} {1000 * again_s:6.0f}")
    sys.exit(first_s > MOST_FIRST_S or again_s > MOST_AGAIN_S)


if __name__ == "__main__":
    main()
