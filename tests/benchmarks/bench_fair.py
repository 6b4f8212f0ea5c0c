"""How well the finder does for players of another physics, by register, as tables.

    python -m tests.benchmarks.bench_fair [--quick] [soprano | bass]

Players are those of `tests.analysis.finder.other_physics`: invented, seeds fixed, 3 cents of noise
in each measurement, none of the learner's formulas shared where it may be wrong. Targets are the
quarter tones from E3 to F#6+50 cents, and apart from those the ones from G6+50 to C7. The first
logs are what the page of the first day asks for, the further ones attempts at targets drawn at
random from what the bare tube puts within 40 cents. Errors are those of 400 fingerings that were
not logged, speak, and lie within three keys of an ordinary fingering. A target is hit where one of
five suggestions truly speaks within 10 cents of it; it counts where any of the 60 fingerings does
that the bare tube puts nearest to it, or one that was suggested. One that a log has met is hit: the
notebook has it. "Inside" is the share of errors
within the stated sigma (to reach: .63 to .73).

`--quick`: one instrument of each kind, every fourth target, 0 and 30 logs: about a minute. The
whole takes some minutes: `SEEDS` instruments of each kind, every second target.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.finder import LoggedPitch, PlayerModel, Wishes, suggest
from analysis.finder.spots import Numbers, Real, Spots
from analysis.pitch import Register, WrittenPitch
from tests.analysis.finder.other_physics import (
    INSTRUMENTS,
    OtherPlayer,
    log_attempts,
    log_first_day,
    make_other_player,
)

SEEDS = (21, 22, 23)
LOG_COUNTS = (0, 10, 30, 100)
TOLERANCE_CENTS = 10.0
WISHES = Wishes(tolerance_cents=TOLERANCE_CENTS)
TARGETS = [WrittenPitch.from_cents(cents) for cents in range(5250, 9100, 100)]
HIGH_TARGETS = [WrittenPitch.from_cents(cents) for cents in range(9150, 9600, 100)]
_UNSEEN = 400
_NEAREST = 60
_REGISTERS = [*Register]


@dataclass
class Found:
    """Result of one player at one number of logs; arrays run over unseen fingerings."""

    errors: Real
    sigmas: Real
    registers: Numbers
    hits: list[tuple[str, bool]]
    chances: list[tuple[float, bool]]


def make_logs(player: OtherPlayer, count: int) -> list[LoggedPitch]:
    """Make the logs of a stage: the first day, then attempts at all targets."""
    first = log_first_day(player)[:count]
    return first + log_attempts(player, TARGETS, count - len(first))


def sample_unseen(player: OtherPlayer) -> Spots:
    """Draw spots of the pool, the same at each stage, as many of each resonance."""
    spots = player.pool.spots
    rng = np.random.default_rng([player.seed, 3])
    drawn = [
        rng.choice(np.flatnonzero(spots.numbers == n), _UNSEEN // 3, replace=False)
        for n in (1, 2, 3)
    ]
    return spots.select(np.concatenate(drawn))


def judge(
    player: OtherPlayer, logs: Sequence[LoggedPitch], targets: Sequence[WrittenPitch]
) -> Found:
    """Find errors on unseen fingerings, and which of the targets that can be hit are."""
    model = PlayerModel.fit_tube(player.tube, logs)
    spots = sample_unseen(player)
    truth = player.find_cents(spots)
    logged = set(model.tried)
    unseen = np.isfinite(truth) & np.array([name not in logged for name in spots.names])
    spots, truth = spots.select(unseen), truth[unseen]
    estimate = model.estimate(spots)
    found = Found(estimate.mean - truth, np.sqrt(estimate.variance), spots.registers, [], [])
    for target in targets:
        ask(player, model, target, found)
    return found


def ask(player: OtherPlayer, model: PlayerModel, target: WrittenPitch, found: Found) -> None:
    """Ask for one target and note whether it was hit, if anything can."""
    logged = [player.find_offset(log.fingering, target) for log in model.logs]
    if any(abs(offset) <= TOLERANCE_CENTS for offset in logged):
        found.hits.append((name_group(target), True))
        return
    items = suggest(target, model=model, starts=(), wishes=WISHES).items
    offsets = [player.find_offset(one.fingering, target) for one in items]
    good = [bool(abs(offset) <= TOLERANCE_CENTS) for offset in offsets]
    found.chances.extend(
        (one.chance, hit) for one, hit in zip(items, good, strict=True) if one.is_within_reach
    )
    if any(good) or is_possible(player, target):
        found.hits.append((name_group(target), any(good)))


def is_possible(player: OtherPlayer, target: WrittenPitch) -> bool:
    """Tell whether one of the nearest fingerings of the pool truly meets a target."""
    apart = np.abs(player.pool.spots.cents - float(target.cents))
    nearest = np.argsort(apart, kind="stable")[:_NEAREST]
    truth = player.find_cents(player.pool.spots.select(nearest))
    return bool(np.any(np.abs(truth - float(target.cents)) <= TOLERANCE_CENTS))


def name_group(target: WrittenPitch) -> str:
    """Name the part of the range a target lies in."""
    cents = float(target.cents)
    if cents >= 9100:
        return "to C7"
    return "altissimo" if cents > 8450 else "clarion" if cents > 7050 else "below"


GROUPS = ("below", "clarion", "altissimo", "to C7")


def show(instrument: str, seeds: Sequence[int], counts: Sequence[int], step: int) -> None:
    """Show the tables of one kind of instrument."""
    players = [make_other_player(instrument, seed) for seed in seeds]
    targets = [*TARGETS[::step], *HIGH_TARGETS[::step]]
    by_count = {
        count: [judge(one, make_logs(one, count), targets) for one in players] for count in counts
    }
    print(f"\n| {instrument}, logs | error median/90% | inside | hits | chance said/true |")
    print("| --- | --- | --- | --- | --- |")
    for count, found in by_count.items():
        errors = np.concatenate([np.abs(one.errors) for one in found])
        sigmas = np.concatenate([one.sigmas for one in found])
        chances = np.array([pair for one in found for pair in one.chances]).reshape(-1, 2)
        hits = [hit for one in found for _, hit in one.hits]
        said = np.mean(chances, axis=0) if len(chances) else (np.nan, np.nan)
        print(
            f"| {count} | {say(errors)} | {np.mean(errors <= sigmas):.2f} | {np.mean(hits):.2f} "
            f"({len(hits)}) | {said[0]:.2f}/{said[1]:.2f} |"
        )
    print(f"\n| {instrument} by register | {' | '.join(f'{c} logs' for c in counts)} |")
    print("| --- " * (1 + len(counts)) + "|")
    for place, register in enumerate(_REGISTERS):
        cells = [say_register(found, place) for found in by_count.values()]
        print(f"| {register}: median/90%, inside | {' | '.join(cells)} |")
    for group in GROUPS:
        cells = [say_hits(found, group) for found in by_count.values()]
        print(f"| hits {group} | {' | '.join(cells)} |", flush=True)


def say(errors: Real) -> str:
    """Say the median and the 90% point of absolute errors, shape (n,), cents."""
    median, most = np.percentile(errors, [50, 90])
    return f"{median:.0f}/{most:.0f}"


def say_register(found: Sequence[Found], place: int) -> str:
    """Say errors and coverage in one register."""
    errors = np.concatenate([np.abs(one.errors[one.registers == place]) for one in found])
    sigmas = np.concatenate([one.sigmas[one.registers == place] for one in found])
    if not len(errors):
        return "-"
    return f"{say(errors)}, {np.mean(errors <= sigmas):.2f}"


def say_hits(found: Sequence[Found], group: str) -> str:
    """Say the share of targets hit in one part of the range, and of how many."""
    hits = [hit for one in found for name, hit in one.hits if name == group]
    return f"{np.mean(hits):.2f} ({len(hits)})" if hits else "-"


if __name__ == "__main__":
    is_quick = "--quick" in sys.argv
    for kind in [one for one in INSTRUMENTS if one in sys.argv] or INSTRUMENTS:
        show(
            kind,
            SEEDS[:1] if is_quick else SEEDS,
            LOG_COUNTS[::2] if is_quick else LOG_COUNTS,
            4 if is_quick else 2,
        )
