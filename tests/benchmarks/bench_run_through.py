"""Run-through: made performances of known passages, and how well each note is found again.

Run by hand from the checkout: `python -m tests.benchmarks.bench_run_through [--each N] [--seed N]`.
The performances are those of `tests/analysis/performance/performances.py`, drawn with a seed that
no limit was set on: passages of 32 notes at 40 to 160 beats a minute, slurred, tongued and mixed,
5% wrong notes, 2% left out, stops after which the player begins again at the bar, tempo 15% slower
to 10% quicker than asked. The kinds that come after "like those" have another tone, vibrato or room
than any that a limit was set on.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import numpy as np

from tests.analysis.performance.performances import RATE, Playing, Sounding, make_passage, perform
from tests.analysis.performance.scoring import (
    LONG_S,
    QUICK_S,
    SHORT_S,
    ScoredNote,
    find_errors,
    score,
    share_matched,
)

HELD_OUT_SEED = 2031
TEMPOS = (40, 60, 80, 100, 120, 140, 160)
SLURRED = (0.0, 0.5, 1.0)
LIKE = Sounding()
KINDS: Mapping[str, Sounding] = {
    "like those that limits were set on": LIKE,
    "bright tone, even partials as strong": Sounding(even_db=-2.0, fall_db=3.0),
    "dull tone, hardly a partial": Sounding(even_db=-40.0, fall_db=16.0),
    "vibrato of 20 cents": Sounding(vibrato_cents=20.0, vibrato_hz=5.6),
    "vibrato of 35 cents": Sounding(vibrato_cents=35.0, vibrato_hz=6.2),
    "room of 1 s": Sounding(reverb_s=1.0),
    "church of 2.5 s": Sounding(reverb_s=2.5),
    "noise 25 dB under the tone": Sounding(noise_db=25.0),
    "slow slides of 50 ms": Sounding(slide_s=0.05),
    "soft tongue, 8 dB for 25 ms": Sounding(tongue_s=(0.02, 0.03), tongue_depth=0.4),
    "each note swells by 10 dB": Sounding(swell_db=10.0),
}


def play_all(sounding: Sounding, each: int, seed: int) -> tuple[list[ScoredNote], float, float]:
    """Notes of all performances of a kind, the seconds played, and the processor's seconds."""
    notes: list[ScoredNote] = []
    played_s = spent_s = 0.0
    for tempo, slurred, number in product(TEMPOS, SLURRED, range(each)):
        one = seed + 1000 * number + tempo + round(10 * slurred)
        playing = replace(
            Playing(left_out=0.02, slurred=slurred),
            tempo_share=float(np.random.default_rng(one).uniform(0.9, 1.15)),
        )
        passage = make_passage(one, tempo=tempo)
        performance = perform(passage, one, playing=playing, sounding=sounding)
        played_s += len(performance.samples) / RATE
        began = time.process_time()
        notes += score(passage, performance)
        spent_s += time.process_time() - began
    return notes, played_s, spent_s


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=4, help="performances of each tempo and way")
    parser.add_argument("--seed", type=int, default=HELD_OUT_SEED)
    options = parser.parse_args()
    print("| performances | notes | 0.25 s and more | 0.15 to 0.25 s | 0.1 to 0.15 s | wrong ones |"
          " cents, median / 95% | quick ones | known | onset, ms | ms per s |")  # fmt: skip
    print("|" + "---|" * 11)
    for kind, sounding in KINDS.items():
        notes, played_s, spent_s = play_all(sounding, options.each, options.seed)
        quick = [n for n in notes if SHORT_S <= n.length_s < QUICK_S]
        known = np.mean([n.error_cents is not None for n in quick])
        wrong = [n.is_matched for n in notes if n.is_wrong]
        onsets = [1000 * abs(n.onset_error_s) for n in notes if n.onset_error_s is not None]
        print(
            f"| {kind} | {len(notes)} | {share_matched(notes, LONG_S):.1%} "
            f"| {share_matched(notes, QUICK_S, LONG_S):.1%} "
            f"| {share_matched(notes, SHORT_S, QUICK_S):.1%} | {np.mean(wrong):.0%} "
            f"| {_show(find_errors(notes, LONG_S))} "
            f"| {_show(find_errors(notes, SHORT_S, QUICK_S))} "
            f"| {known:.0%} | {np.median(onsets):.0f} | {1000 * spent_s / played_s:.1f} |",
            flush=True,
        )


def _show(errors: list[float]) -> str:
    return f"{np.median(errors):.2f} / {np.quantile(errors, 0.95):.1f}" if errors else "none"


if __name__ == "__main__":
    main()
