"""How well the finder does for players of another physics, by register, as tables.

    python -m tests.benchmarks.bench_fair [--quick | --sureness] [soprano | bass]

Players are those of `tests.analysis.finder.other_physics`: invented, seeds fixed, 3 cents of noise
in each measurement, none of the learner's formulas shared where it may be wrong. Targets are the
quarter tones from E3 to F#6+50 cents, and apart from those the ones from G6+50 to C7. The first
logs are what the page of the first day asks for, the further ones attempts at targets drawn at
random from what the bare tube puts within 40 cents. Every second of them was also played watching
the pitch and every third at several dynamics (`other_lip`), which teaches the finder the lip.
Errors are those of 400 fingerings that were not logged, speak, and lie within three keys of an
ordinary fingering. Which targets count, and which are hit, says `finder_targets`. "Inside" is the
share of errors within the stated sigma (to reach: .63 to .73).

"Hits said" is the mean chance that one of five hits, as the stated chances give it if they missed
independently; a log that has met the target counts as 1. "Chance" and "with the lip" are the mean
of the stated chances of all suggestions, and the share that truly hit.

`--quick`: one instrument of each kind, every fourth target, 0 and 30 logs: about a minute. The
whole takes some minutes: `SEEDS` instruments of each kind, every second target. `--sureness`:
errors alone, on further instruments that no constant was chosen on.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.finder import LoggedPitch, PlayerModel, Wishes
from analysis.finder.spots import Numbers, Real, Spots
from analysis.pitch import Register, WrittenPitch
from tests.analysis.finder.other_lip import OtherLip, make_other_lip
from tests.analysis.finder.other_physics import (
    INSTRUMENTS,
    OtherPlayer,
    log_attempts,
    log_first_day,
    make_other_player,
)
from tests.benchmarks.finder_targets import TOLERANCE_CENTS, Judged, judge_target

SEEDS = (21, 22, 23)
# a bass of 41 is no instrument: what was drawn for it cannot be tuned
SURENESS_SEEDS = tuple(range(42, 48))
LOG_COUNTS = (0, 10, 30, 100)
TARGETS = [WrittenPitch.from_cents(cents) for cents in range(5250, 9100, 100)]
HIGH_TARGETS = [WrittenPitch.from_cents(cents) for cents in range(9150, 9600, 100)]
_UNSEEN = 400
_REGISTERS = [*Register]


@dataclass
class Found:
    """Result of one player at one number of logs; arrays run over unseen fingerings.

    `hits` are group of the target, whether it was hit, and how likely that was said to be;
    `chances` what was said of each suggestion and whether it hit, without the lip and with it.
    """

    errors: Real
    sigmas: Real
    registers: Numbers
    hits: list[tuple[str, bool, float]]
    chances: list[tuple[float, bool, float, bool]]


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
    if targets:
        lip = make_other_lip(player)
        wishes = Wishes(
            tolerance_cents=TOLERANCE_CENTS,
            lip_tries=lip.show_tries(logs),
            spans=lip.show_spans(logs),
        )
        for target in targets:
            judged = judge_target(player, player.pool.spots, model, target, wishes)
            note(found, judged, lip, target)
    return found


def note(found: Found, judged: Judged, lip: OtherLip, target: WrittenPitch) -> None:
    """Note what came of one target."""
    if judged.is_possible:
        said = 1.0 if judged.is_met else judged.said
        found.hits.append((name_group(target), judged.is_hit, said))
    bends = lip.find_bends_of([one.fingering for one in judged.items], target)
    rows = zip(judged.items, judged.offsets.tolist(), bends.down, bends.up, strict=True)
    for one, offset, down, up in rows:
        is_lipped = -TOLERANCE_CENTS - up <= offset <= TOLERANCE_CENTS + down
        is_plain = abs(offset) <= TOLERANCE_CENTS
        found.chances.append((one.chance, is_plain, one.lip_chance, bool(is_lipped)))


def name_group(target: WrittenPitch) -> str:
    """Name the part of the range a target lies in."""
    cents = float(target.cents)
    if cents >= 9100:
        return "to C7"
    return "altissimo" if cents > 8450 else "clarion" if cents > 7050 else "below"


GROUPS = ("below", "clarion", "altissimo", "to C7")


def show(instrument: str, seeds: Sequence[int], counts: Sequence[int], step: int | None) -> None:
    """Show the tables of one kind of instrument; every `step`-th target, None for errors alone."""
    players = [make_other_player(instrument, seed) for seed in seeds]
    targets = [*TARGETS[::step], *HIGH_TARGETS[::step]] if step else []
    by_count = {
        count: [judge(one, make_logs(one, count), targets) for one in players] for count in counts
    }
    print(
        f"\n| {instrument}, logs | error median/90% | inside | hits said/true "
        "| chance said/true | with the lip |"
    )
    print("| --- | --- | --- | --- | --- | --- |")
    for count, found in by_count.items():
        errors = np.concatenate([np.abs(one.errors) for one in found])
        sigmas = np.concatenate([one.sigmas for one in found])
        print(
            f"| {count} | {say(errors)} | {np.mean(errors <= sigmas):.2f} "
            f"| {say_all_hits(found)} | {say_chances(found)} |"
        )
    print(f"\n| {instrument} by register | {' | '.join(f'{c} logs' for c in counts)} |")
    print("| --- " * (1 + len(counts)) + "|")
    for place, register in enumerate(_REGISTERS):
        cells = [say_register(found, place) for found in by_count.values()]
        print(f"| {register}: median/90%, inside | {' | '.join(cells)} |")
    for group in GROUPS if targets else ():
        cells = [say_hits(found, group) for found in by_count.values()]
        print(f"| hits {group} | {' | '.join(cells)} |", flush=True)


def say(errors: Real) -> str:
    """Say the median and the 90% point of absolute errors, shape (n,), cents."""
    median, most = np.percentile(errors, [50, 90])
    return f"{median:.0f}/{most:.0f}"


def say_all_hits(found: Sequence[Found]) -> str:
    """Say which share of targets was hit, as stated and truly, and of how many."""
    hits = [one_hit for one in found for one_hit in one.hits]
    if not hits:
        return "-"
    said = np.mean([chance for _, _, chance in hits])
    return f"{said:.2f}/{np.mean([hit for _, hit, _ in hits]):.2f} ({len(hits)})"


def say_chances(found: Sequence[Found]) -> str:
    """Say the mean stated chance and the share that hit, without the lip and with it."""
    chances = np.array([row for one in found for row in one.chances], dtype=np.float64)
    if not len(chances):
        return "- | -"
    said, true, said_lipped, true_lipped = np.mean(chances, axis=0)
    return f"{said:.2f}/{true:.2f} | {said_lipped:.2f}/{true_lipped:.2f}"


def say_register(found: Sequence[Found], place: int) -> str:
    """Say errors and coverage in one register."""
    here = [(np.abs(one.errors), one.sigmas, one.registers == place) for one in found]
    errors = np.concatenate([all_errors[inside] for all_errors, _, inside in here])
    sigmas = np.concatenate([all_sigmas[inside] for _, all_sigmas, inside in here])
    if not len(errors):
        return "-"
    return f"{say(errors)}, {np.mean(errors <= sigmas):.2f}"


def say_hits(found: Sequence[Found], group: str) -> str:
    """Say the share of targets hit in one part of the range, and of how many."""
    hits = [hit for one in found for name, hit, _ in one.hits if name == group]
    return f"{np.mean(hits):.2f} ({len(hits)})" if hits else "-"


if __name__ == "__main__":
    is_quick = "--quick" in sys.argv
    has_targets = "--sureness" not in sys.argv
    for kind in [one for one in INSTRUMENTS if one in sys.argv] or INSTRUMENTS:
        show(
            kind,
            (SEEDS[:1] if is_quick else SEEDS) if has_targets else SURENESS_SEEDS,
            LOG_COUNTS[::2] if is_quick else LOG_COUNTS,
            (4 if is_quick else 2) if has_targets else None,
        )
