"""How long the sheet of a piece takes, bar by bar and as engraved strips, on both papers.

Run by hand: `python -m tests.benchmarks.bench_sheet`. Eight bars of six notes, four of them
quarter tones, on a notebook of 2,000 invented fingerings. Time is told by the clock and as
processor time of this process and the engraving child; the latter counts on a busy machine.
"""

import statistics
import sys
import tempfile
import time
from itertools import product
from pathlib import Path

from analysis.score import ReadingSettings, parse_typed_part, to_transcript
from tests.benchmarks.bench_score import processor_s
from tests.benchmarks.bench_search import fill
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.opening import open_notebook
from webapp.notebook.pieces.printing import SheetKind, render_sheet
from webapp.notebook.pieces.sheet import SheetHead
from webapp.notebook.pieces.todo import open_todo

FINGERINGS = 2_000
REPEATS = 5
MOST_S = 1.0
BAR = "D5 -50 (1/8), E5~F5 +50, G5 -50, A5, Bqf4~C5, D5 -50"


def main() -> None:
    """Print the figures in milliseconds; end with status 1 where it takes too long."""
    transcript = to_transcript(parse_typed_part(" | ".join([BAR] * 8)))
    medians = []
    with tempfile.TemporaryDirectory() as folder:
        notebook = open_notebook(Path(folder))
        fill(notebook, FINGERINGS)
        todo = open_todo(notebook, 1, transcript, ReadingSettings())
        print(f"{'milliseconds':16} {'clock':>6} {'processor':>10}")
        for kind, paper in product(SheetKind, Paper):
            head = SheetHead("Invented", "", None, paper)
            times = []
            for _ in range(REPEATS):
                began, used = time.perf_counter(), processor_s()
                render_sheet(todo, head, todo.writing, kind)
                times.append((time.perf_counter() - began, processor_s() - used))
            clock_s, used_s = (statistics.median(each) for each in zip(*times, strict=True))
            medians.append(used_s)
            name = f"{kind.value}, {paper.value}"
            print(f"{name:16} {1000 * clock_s:6.0f} {1000 * used_s:10.0f}")
        notebook.close()
    sys.exit(max(medians) > MOST_S)


if __name__ == "__main__":
    main()
