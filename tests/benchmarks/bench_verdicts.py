"""Verdicts: made sounds of every kind, and what each is called.

Run by hand from the checkout: `python -m tests.benchmarks.bench_verdicts [--each N] [--seed N]`.
The sounds are those of `tests/analysis/recording/kinds.py`, drawn with a seed that no limit was set
on. A sound is named rightly when it has the verdict (and the mark) of its kind; a pitch is wrong
when it lies more than 50 cents from every pitch that is in the sound while it is measured, or when
there is none: a word has the pitch it is spoken at, struck metal one only while a single partial
has nine tenths of the power of those under 5 kHz.
`--files` measures recordings of one's own as well: what each is called, without a judgement.
"""

from __future__ import annotations

import argparse
import os
import zlib
from collections import Counter
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis.recording import TakeMeasurement, TakeWarning, Verdict, measure_clip, measure_take
from tests.analysis.recording.kinds import KINDS
from tests.analysis.recording.sound_parts import Sound
from tests.analysis.recording.sounds import RATE

HELD_OUT_SEED = 2029
WRONG_CENTS = 50.0
# kind -> the names that are right; "ok" alone is a plain note with the right pitch
EXPECTED: Mapping[str, tuple[str, ...]] = {
    "held": ("ok",),
    "played": ("ok",),
    "short": ("ok, short",),
    "swell": ("ok",),
    "struck string": ("ok", "ok, short"),
    "high-passed": ("ok",),
    "through a codec": ("ok",),
    "flutter-tongue": ("ok, flutter-tongue",),
    "trill": ("trill",),
    "tremolo": ("tremolo",),
    "bend or glissando": ("bend or glissando",),
    "word": ("speech",),
    "one after the other": ("ok, two notes",),
    "two clarinets": ("multiphonic",),
    "faint second note": ("ok", "ok, two notes", "multiphonic"),
    "multiphonic": ("multiphonic",),
    "struck metal": ("multiphonic", "no clear pitch", "noise", "no steady pitch"),
    "noise": ("noise", "too quiet", "no steady pitch", "too short", "no clear pitch"),
}
NAMED = (TakeWarning.SHORT, TakeWarning.FLUTTER_TONGUE, TakeWarning.TWO_NOTES)


@dataclass(frozen=True)
class Outcome:
    """Outcome of one sound: its name, and whether a pitch was told that is not in it."""

    kind: str
    name: str
    is_wrong_pitch: bool


def measure(kind: str, seed: int, at: int) -> Outcome:
    """One sound of a kind, drawn and measured."""
    sound = KINDS[kind](np.random.default_rng([seed, zlib.crc32(kind.encode()), at]))
    take = measure_take(sound.samples, RATE)
    return Outcome(kind, name(take), has_wrong_pitch(take, sound))


def name(take: TakeMeasurement) -> str:
    """The verdict with the marks that say what kind of note it is."""
    if not take.is_usable:
        return take.verdict.value
    return ", ".join([Verdict.OK.value, *(w.value for w in NAMED if w in take.warnings)])


def has_wrong_pitch(take: TakeMeasurement, sound: Sound) -> bool:
    """Whether the take carries a pitch that lies over 50 cents from all that sound."""
    if take.f0_hz is None:
        return False
    assert take.steady_from_s is not None and take.steady_to_s is not None
    there_hz = sound.find_pitches_hz(take.steady_from_s, take.steady_to_s)
    off = [abs(1200 * np.log2(take.f0_hz / f0_hz)) for f0_hz in there_hz]
    return min(off, default=np.inf) > WRONG_CENTS


def print_table(outcomes: list[Outcome]) -> None:
    """A row for each kind: how many were named rightly, how many pitches are wrong, all names."""
    print("| sound | of | named rightly | wrong pitch | what it was called |")
    print("|---|---|---|---|---|")
    for kind, expected in EXPECTED.items():
        of_kind = [each for each in outcomes if each.kind == kind]
        right = sum(each.name in expected for each in of_kind)
        wrong = sum(each.is_wrong_pitch for each in of_kind)
        counts = Counter(each.name for each in of_kind).most_common()
        words = "; ".join(f"{called} {count}" for called, count in counts)
        share = 100 * right / len(of_kind)
        print(f"| {kind} | {len(of_kind)} | {right} ({share:.1f}%) | {wrong} | {words} |")
    wrong = sum(each.is_wrong_pitch for each in outcomes)
    print(f"\n{len(outcomes)} sounds; {wrong} with a wrong pitch.")


def main() -> None:
    """Parse, run, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=167, help="sounds of each kind")
    parser.add_argument("--seed", type=int, default=HELD_OUT_SEED)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    parser.add_argument("--files", nargs="*", type=Path, default=())
    chosen = parser.parse_args()
    for path in chosen.files:
        take = measure_clip(path)
        print(f"{path.name}: {name(take)} {take.f0_hz or ''}")
    if chosen.files:
        return
    jobs = [(kind, chosen.seed, at) for kind in KINDS for at in range(chosen.each)]
    with ProcessPoolExecutor(chosen.processes) as pool:
        outcomes = list(pool.map(measure, *zip(*jobs, strict=True), chunksize=8))
    print_table(outcomes)


if __name__ == "__main__":
    main()
