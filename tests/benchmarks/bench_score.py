"""How long score files take to read, good ones and harmful ones.

Run by hand: `python -m tests.benchmarks.bench_score`. The good one is made of seeded notes with
signs, slurs and articulations; the harmful ones are those of the tests. Time is told by the clock
and as processor time of this process and the reading child; the latter counts on a busy machine.
"""

from __future__ import annotations

import random
import resource
import statistics
import sys
import tempfile
import time
from pathlib import Path

from analysis.score import ScoreError, read_part, read_score_file
from tests.analysis.notation.mutants import make_mutant, read_mutant
from tests.analysis.notation.scores import bar, note, score
from tests.analysis.score.test_files import HARMFUL

NOTES, NOTES_A_BAR = 8_000, 8
REPEATS = 7
MOST_S = 1.5
MUTANTS = 1_000
SIGNS = (("", None), (" -0.5", "quarter-flat"), (" 0.5", "quarter-sharp"), (" 1", "sharp"))


def make_part() -> bytes:
    """A part of 8,000 notes, as wordy as exporters are."""
    chance = random.Random(7)
    notes = []
    for _ in range(NOTES):
        alter, sign = chance.choice(SIGNS)
        slur = f'<slur type="{chance.choice(("start", "stop"))}" number="1"/>'
        notations = f"{slur}<articulations><staccato/></articulations>"
        more = '<type>eighth</type><stem>up</stem><beam number="1">begin</beam>'
        name = f"{chance.choice('CDEFGAB')}{chance.choice('456')}{alter}"
        notes.append(note(name, sign, more=more, notations=notations, staff=1))
    bars = [
        bar(*notes[at : at + NOTES_A_BAR], number=str(at // NOTES_A_BAR + 1))
        for at in range(0, NOTES, NOTES_A_BAR)
    ]
    return score(*bars)


def processor_s() -> float:
    """Processor time of this process and its ended children."""
    kinds = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    used = [resource.getrusage(kind) for kind in kinds]
    return sum(each.ru_utime + each.ru_stime for each in used)


def measure_part(path: Path) -> tuple[float, float]:
    """Seconds by the clock and of processor to read a part, question and all."""
    began, used = time.perf_counter(), processor_s()
    part = read_part(read_score_file(path))
    assert len(part.notes) == NOTES
    return time.perf_counter() - began, processor_s() - used


def measure_harmful(path: Path) -> tuple[str, float, float]:
    """How a file comes out, and how long that takes."""
    began, used = time.perf_counter(), processor_s()
    try:
        outcome = f"{len(read_score_file(path).notes)} notes"
    except ScoreError as refusal:
        outcome = type(refusal).__name__
    return outcome, time.perf_counter() - began, processor_s() - used


def main() -> None:
    """Print the figures; end with status 1 if 8,000 notes take too long."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "score"
        path.write_bytes(make_part())
        times = [measure_part(path) for _ in range(REPEATS)]
        clock = statistics.median(each[0] for each in times)
        processor = statistics.median(each[1] for each in times)
        size = path.stat().st_size / 1e6
        print(f"{NOTES} notes, {size:.1f} MB: {clock:.2f} s, processor {processor:.2f} s")
        for name, (make, _) in HARMFUL.items():
            path.write_bytes(make())
            outcome, clock_s, used_s = measure_harmful(path)
            print(f"{name:24} {outcome:20} {clock_s:5.2f} s, processor {used_s:.2f} s")
    slowest = 0.0
    for number in range(MUTANTS):
        content = make_mutant(number)
        began = time.process_time()
        read_mutant(content)
        slowest = max(slowest, time.process_time() - began)
    print(f"the slowest of {MUTANTS} mutants: processor {1000 * slowest:.0f} ms")
    # reading and understanding follow each other, so on a free machine the clock tells the same
    sys.exit(processor > MOST_S)


if __name__ == "__main__":
    main()
