"""How well the finder predicts and suggests, on simulated players, as tables.

    python -m tests.benchmarks.bench_finder [--quick | --speed | --sureness]

Players A, B and C are those of `tests.analysis.finder.players`: invented instruments, seeds
fixed, 3 cents of noise in each measurement. The first ten logs are what the page of the first day
asks for, the further ones attempts at quarter tones drawn at random from what the bare tube puts
within 40 cents. Errors are those of 600 fingerings for each player that were not logged, within
three keys of an ordinary fingering and 15 to 200 cents from the nearest one.

"Within 1 sigma" is the share of errors within the stated sigma (normal: .68). "Hits" is the share
of quarter tones E3 to C#6 that are hit, of those that count, counted as for the players of another
physics (`finder_targets`); in brackets how many counted. "Tries" counts fresh suggestions until one
is truly within 10 cents, each learned from, for every third quarter tone asked: the mean of those
solved within 8, and the share solved of all asked, whether anything can meet them or not.

Three seeds say little about the share within 1 sigma, which differs much from one invented
instrument to the next; `--sureness` looks at twelve more, for that and for the hits.

Methods: "no model" is the same learning without the tube: each fingering sounds like the nearest
ordinary one, and what each open or closed hole does is learned from the logs. "Physics" is the
bare tube before anything was logged. "Learned" is the finder.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields

import numpy as np

from analysis.finder import LoggedPitch, PlayerModel, Start, Wishes, prepare, suggest
from analysis.finder.spots import Bits, Real, Spots
from analysis.finder.tube import Tube
from analysis.keywork import format_fingering
from analysis.pitch import WrittenPitch
from tests.analysis.finder.players import (
    PLAYERS,
    Player,
    find_pool,
    log_attempts,
    log_first_day,
    make_player,
)
from tests.benchmarks.finder_targets import (
    TOLERANCE_CENTS,
    WISHES,
    find_offsets,
    judge_target,
)

LOG_COUNTS = (0, 10, 30, 100)
SEEDS = (11, 12, 13)
SURENESS_SEEDS = tuple(range(61, 73))
MOST_TRIES = 8
TRY_STEP = 3
_HOLE_CENTS = 30.0
TARGETS = [WrittenPitch.from_cents(cents) for cents in range(5250, 8500, 100)]


class KeysOnly(Tube):
    """A tube that knows nothing: fingerings sound like the nearest ordinary one."""

    def find_cents(self, holes: Bits) -> Real:
        differing = np.bitwise_count(holes[:, np.newaxis] ^ self.ordinary.holes).astype(float)
        columns = []
        for number in (1, 2, 3):
            cost = np.where(self.ordinary.numbers == number, differing, np.inf)
            columns.append(np.round(self.ordinary.cents, -2)[np.argmin(cost, axis=1)])
        return np.stack(columns, axis=1)

    def find_rows(self, spots: Spots) -> Real:
        bases, _ = self.find_bases(spots)
        bits = np.arange(len(self.layout.holes), dtype=np.uint64)
        states = [
            ((holes[:, np.newaxis] >> bits) & np.uint64(1)).astype(float)
            for holes in (spots.holes, self.ordinary.holes[bases])
        ]
        return np.asarray(_HOLE_CENTS * (states[0] - states[1]))


def forget_tube(tube: Tube) -> KeysOnly:
    """Make the tube that knows nothing of the same instrument."""
    known = {f.name: getattr(tube, f.name) for f in fields(tube) if not f.name.startswith("_")}
    del known["serial"]  # what lies around a fingering is kept by it
    return KeysOnly(**known)


@dataclass(frozen=True)
class Score:
    """What one method reached for one player at one number of logs."""

    errors: Real
    sigmas: Real
    hits: list[bool]
    tries: list[int]

    @property
    def cells(self) -> str:
        median, most = np.percentile(np.abs(self.errors), [50, 90])
        inside = np.mean(np.abs(self.errors) <= self.sigmas)
        hits = f"{np.mean(self.hits):.2f} ({len(self.hits)})" if self.hits else "-"
        if not self.tries:
            return f"{median:.0f}/{most:.0f} | {inside:.2f} | {hits} | -"
        solved = [one for one in self.tries if one <= MOST_TRIES]
        mean = f"{np.mean(solved):.1f}" if solved else "-"
        return (
            f"{median:.0f}/{most:.0f} | {inside:.2f} | {hits} "
            f"| {mean} ({len(solved) / len(self.tries):.2f})"
        )


def make_logs(player: Player, count: int) -> list[LoggedPitch]:
    first_day = log_first_day(player) if count else []
    return first_day + log_attempts(player, TARGETS, count - len(first_day))


def sample_unseen(player: Player, logs: Sequence[LoggedPitch], count: int) -> Spots:
    pool = find_pool(player.tube)
    logged = set(PlayerModel.fit_tube(player.tube, logs).tried)
    unseen = np.array([name not in logged for name in pool.names])
    truth = player.find_cents(pool)
    _, shifts = player.tube.find_bases(pool)
    unseen &= np.isfinite(truth) & (np.abs(shifts) >= 15.0) & (np.abs(shifts) <= 200.0)
    places = np.flatnonzero(unseen)
    rng = np.random.default_rng([player.seed, 3])
    return pool.select(rng.choice(places, count, replace=False))


def score(
    player: Player, tube: Tube, logs: Sequence[LoggedPitch], *, method: str, step: int
) -> Score:
    """Score one method; `step` 1 asks every target, 3 each third. "No model" does no tries."""
    is_learning = method != "physics"
    model = PlayerModel.fit_tube(tube, logs if is_learning else [])
    unseen = sample_unseen(player, logs, 600)
    believed = tube.locate(unseen.holes, unseen.numbers)
    estimate = model.estimate(believed)
    errors = estimate.mean - player.find_cents(unseen)
    targets = TARGETS[::step]
    hits = find_hits(player, model, targets)
    tries = [
        count_tries(player, tube, logs, target, is_learning=is_learning)
        for target in (targets[::TRY_STEP] if method != "no model" else ())
    ]
    return Score(errors, np.sqrt(estimate.variance), hits, tries)


def find_hits(player: Player, model: PlayerModel, targets: Sequence[WrittenPitch]) -> list[bool]:
    """Find which of the targets that count are hit."""
    pool = find_pool(player.tube)
    judged = [judge_target(player, pool, model, target, WISHES) for target in targets]
    return [one.is_hit for one in judged if one.is_possible]


def count_tries(
    player: Player,
    tube: Tube,
    logs: Sequence[LoggedPitch],
    target: WrittenPitch,
    *,
    is_learning: bool,
) -> int:
    """Count the tries until one is in tune; more than `MOST_TRIES` if none of those was."""
    known = list(logs) if is_learning else []
    dismissed: set[str] = set()
    for number in range(1, MOST_TRIES + 1):
        model = PlayerModel.fit_tube(tube, known)
        wishes = Wishes(tolerance_cents=TOLERANCE_CENTS, dismissed=frozenset(dismissed))
        items = suggest(target, model=model, starts=(), wishes=wishes, count=1).items
        if not items:
            break
        if abs(find_offsets(player, [items[0].fingering], target)[0]) <= TOLERANCE_CENTS:
            return number
        if is_learning:
            known.append(player.play(items[0].fingering, target))
        else:
            dismissed.add(format_fingering(items[0].fingering))
    return MOST_TRIES + 1


def join(scores: Sequence[Score]) -> Score:
    return Score(
        np.concatenate([one.errors for one in scores]),
        np.concatenate([one.sigmas for one in scores]),
        [hit for one in scores for hit in one.hits],
        [count for one in scores for count in one.tries],
    )


def show_players(seeds: Sequence[int], step: int) -> None:
    print("\n| player, logs | method | error median/90% | within 1 sigma | hits | tries (solved) |")
    print("| --- | --- | --- | --- | --- | --- |")
    for name in PLAYERS:
        players = [make_player(name, seed) for seed in seeds]
        for count in LOG_COUNTS:
            for method, scores in compare(players, count, step):
                print(f"| {name}, {count} | {method} | {join(scores).cells} |", flush=True)


def show_sureness() -> None:
    """Show errors within 1 sigma and hits on further instruments: mean, lowest and highest."""
    found = {
        name: np.array([[judge(one, n) for n in LOG_COUNTS] for one in make_further(name)])
        for name in PLAYERS
    }
    found["together"] = np.concatenate(list(found.values()))
    for place, words in enumerate(("within 1 sigma", "hits")):
        print(f"\n| {words} | {' | '.join(f'{count} logs' for count in LOG_COUNTS)} |")
        print("| --- " * (1 + len(LOG_COUNTS)) + "|")
        for name, shares in found.items():
            print(f"| {name} | {' | '.join(map(say_shares, shares[:, :, place].T))} |", flush=True)


def make_further(name: str) -> list[Player]:
    return [make_player(name, seed) for seed in SURENESS_SEEDS]


def judge(player: Player, count: int) -> tuple[float, float]:
    """Find the share of errors within 1 sigma on unlogged fingerings, and that of targets hit."""
    logs = make_logs(player, count)
    unseen = sample_unseen(player, logs, 600)
    model = PlayerModel.fit_tube(player.tube, logs)
    estimate = model.estimate(player.tube.locate(unseen.holes, unseen.numbers))
    errors = np.abs(estimate.mean - player.find_cents(unseen))
    inside = float(np.mean(errors <= np.sqrt(estimate.variance)))
    return inside, float(np.mean(find_hits(player, model, TARGETS)))


def say_shares(shares: Real) -> str:
    return f"{np.mean(shares):.2f} ({np.min(shares):.2f} to {np.max(shares):.2f})"


def compare(players: Sequence[Player], count: int, step: int) -> Iterator[tuple[str, list[Score]]]:
    logged = [(player, make_logs(player, count)) for player in players]
    for method in ("no model", "learned") if count else ("no model", "physics"):
        scores = []
        for player, logs in logged:
            tube = forget_tube(player.tube) if method == "no model" else player.tube
            scores.append(score(player, tube, logs, method=method, step=step))
        yield method, scores


def show_speed() -> None:
    """Show the processor time of one suggestion and one update with 1,000 logged pitches.

    On a machine with nothing else to do it is the time that a player waits.
    """
    player = make_player("C", SEEDS[0])
    logs = make_logs(player, 1005)
    with timed("warm-up around the ordinary fingerings"):
        prepare(player.tube)
    starts = make_starts(logs)
    with timed("warm-up around 1,000 logged ones, first fit"):
        prepare(player.tube, starts[:1000])
        PlayerModel.fit_tube(player.tube, logs[:1000])
    updates = []
    for count in range(1001, 1006):
        began = time.process_time()
        model = PlayerModel.fit_tube(player.tube, logs[:count])
        prepare(player.tube, starts[:count])
        updates.append(time.process_time() - began)
    show_times("update after a take", updates)
    for words in ("first asked", "asked again"):
        taken = []
        for target in TARGETS:
            began = time.process_time()
            suggest(target, model=model, starts=starts)
            taken.append(time.process_time() - began)
        show_times(f"suggestions for one target, {words}", taken)


@contextmanager
def timed(words: str) -> Iterator[None]:
    began = time.process_time()
    yield
    print(f"- {words}: {time.process_time() - began:.1f} s", flush=True)


def show_times(words: str, seconds: Sequence[float]) -> None:
    median, worst = 1e3 * float(np.median(seconds)), 1e3 * max(seconds)
    print(f"- {words}: median {median:.0f} ms, worst {worst:.0f} ms", flush=True)


def make_starts(logs: Sequence[LoggedPitch]) -> list[Start]:
    return [
        Start(log.written, log.fingering, "logged", log.offset_cents, number)
        for number, log in enumerate(logs)
    ]


if __name__ == "__main__":
    is_quick = "--quick" in sys.argv
    is_whole = not {"--speed", "--sureness"} & set(sys.argv)
    if is_whole:
        show_players(SEEDS[:2] if is_quick else SEEDS, 3 if is_quick else 1)
    if "--sureness" in sys.argv or (is_whole and not is_quick):
        show_sureness()
    if "--sureness" not in sys.argv:
        show_speed()
