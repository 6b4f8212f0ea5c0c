"""Simulated players: invented instruments that say where every fingering sounds, seeds fixed.

- `A`: the shipped tube, each measure off by what a maker's tolerance might be.
- `B`: another tube that is in tune: every remembered measure drawn anew, then calibrated.
- `C`: as B with other end corrections at pads and holes, every shift from the ordinary fingerings
  12% larger, and each fingering off by 12 cents of its own.

No recording of a real instrument is behind them. Tolerances and sizes: judgement, from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np

from analysis.acoustics import (
    Geometry,
    Linkage,
    Screening,
    Spreads,
    TubeModel,
    change_geometry,
    find_air,
    list_parameters,
)
from analysis.acoustics.calibration import calibrate, load_initial_geometry
from analysis.acoustics.calibration_notes import list_notes, split_altissimo
from analysis.finder import LoggedPitch, PlayerModel
from analysis.finder.spots import ALTISSIMO_NUMBER, Real, Spots
from analysis.finder.tube import PREPARED_CHANGES, Tube
from analysis.keywork import KeyStates, Layout, list_first_day, load_layout
from analysis.pitch import WrittenPitch

KIND, LAYOUT = "b-flat-soprano", "soprano-17-6"
NOISE_CENTS = 3.0
TOLERANCES = Spreads(
    place_share=0.001,
    radius=0.02,
    vent_radius=0.05,
    chimney=0.03,
    pad=0.15,
    top_radius=0.005,
    bore_radius=0.003,
    bell_share=0.002,
)
_SCATTER_CENTS, _SCALE = 12.0, 1.12
_RIM_FACTOR = 1.6
PLAYERS = ("A", "B", "C")


@dataclass(frozen=True)
class Player:
    """An instrument in a player's hands: `tube` is believed, `screening` true."""

    tube: Tube
    screening: Screening
    seed: int
    scale: float
    scatter_cents: float
    _own: dict[int, float] = field(default_factory=dict)

    def find_cents(self, spots: Spots) -> Real:
        """Find where spots truly sound, written cents."""
        cents = self._sound(spots)
        bases, _ = self.tube.find_bases(spots)
        base_cents = self._sound(self.tube.ordinary)[bases]
        scattered = np.array([self._scatter(name) for name in spots.names])
        return np.asarray(base_cents + self.scale * (cents - base_cents) + scattered)

    def _sound(self, spots: Spots) -> Real:
        cents = self.screening.find(spots.holes).written_cents
        return cents[np.arange(len(spots)), spots.numbers - 1].astype(np.float64)

    def _scatter(self, name: int) -> float:
        if name not in self._own:
            drawn = np.random.default_rng([self.seed, name]).standard_normal()
            self._own[name] = self.scatter_cents * float(drawn)
        return self._own[name]

    def play(self, fingering: KeyStates, written: WrittenPitch) -> LoggedPitch:
        """Play a fingering for a note and log it, with the noise of a measurement."""
        keys = np.array([self.tube.linkage.encode(fingering)], dtype=np.uint64)
        wanted = np.array([float(written.cents)])
        spots = self.tube.find_nearest(self.tube.linkage.find_holes(keys), wanted)
        seed = [self.seed, 1, spots.names[0]]
        noise = NOISE_CENTS * float(np.random.default_rng(seed).standard_normal())
        offset = float(self.find_cents(spots)[0] - wanted[0]) + noise
        return LoggedPitch(fingering, written, offset, NOISE_CENTS)


def soprano() -> Layout:
    """The layout that all players have."""
    return load_layout(LAYOUT)


@cache
def make_player(name: str, seed: int) -> Player:
    """Make one of `PLAYERS`; takes some seconds, the same for the same seed."""
    tube = PlayerModel.fit(KIND, soprano(), []).tube
    rng = np.random.default_rng([seed, PLAYERS.index(name)])
    if name == "A":
        parameters = list_parameters(tube.geometry, TOLERANCES)
        drawn = [p.spread * rng.standard_normal() for p in parameters]
        geometry = change_geometry(tube.geometry, parameters, drawn)
        return Player(tube, _screen(geometry), seed, 1.0, 0.0)
    start = load_initial_geometry(KIND)
    parameters = list_parameters(start)
    start = change_geometry(
        start, parameters, [p.spread * rng.standard_normal() for p in parameters]
    )
    if name == "C":
        start = replace(
            start,
            pad_rim_mm=start.pad_rim_mm * _RIM_FACTOR,
            hole_rim_mm=start.hole_rim_mm * _RIM_FACTOR,
        )
    notes, _ = split_altissimo(list_notes(soprano()))
    truth = _screen(calibrate(start, notes).geometry)
    scale, scatter = (_SCALE, _SCATTER_CENTS) if name == "C" else (1.0, 0.0)
    return Player(tube, truth, seed, scale, scatter)


def _screen(geometry: Geometry) -> Screening:
    return Screening(TubeModel(geometry, find_air()))


def log_first_day(player: Player) -> list[LoggedPitch]:
    """Log what the page of the first day asks for."""
    return [player.play(one.fingering, one.written) for one in list_first_day(soprano())]


def find_pool(tube: Tube) -> Spots:
    """Find what may be asked: all spots within three keys of an ordinary fingering.

    Only those below the altissimo: there these players' ordinary notes are as their tube has them
    and not in tune, as those of no instrument are (`other_physics` has a player for it).
    """
    common = tube.list_common()
    return common.select(common.numbers < ALTISSIMO_NUMBER)


def log_attempts(player: Player, targets: Sequence[WrittenPitch], count: int) -> list[LoggedPitch]:
    """Log attempts at targets: what lies near one by the bare tube, drawn at random."""
    pool = find_pool(player.tube)
    rng = np.random.default_rng([player.seed, 2])
    simplest = _find_simplest_keys()
    logs: list[LoggedPitch] = []
    while len(logs) < count:
        target = targets[int(rng.integers(len(targets)))]
        near = np.flatnonzero(np.abs(pool.cents - float(target.cents)) < 40.0)
        if not len(near):
            continue
        place = pool.select(near[rng.integers(len(near), size=1)])
        keys = simplest[int(place.holes[0])]
        logs.append(player.play(player.tube.linkage.decode(keys), target))
    return logs


@cache
def _find_simplest_keys() -> dict[int, int]:
    """Find for each hole set of the pool the key set with the fewest keys, of equals the lowest."""
    linkage = Linkage(soprano())
    around = [
        linkage.find_within(linkage.encode(note.fingering), PREPARED_CHANGES)
        for note in list_notes(soprano())
    ]
    keys = np.unique(np.concatenate(around))
    order = np.lexsort((keys, np.bitwise_count(keys)))[::-1]  # of the same the last one counts
    holes = linkage.find_holes(keys)
    return dict(zip(holes[order].tolist(), keys[order].tolist(), strict=True))
