"""Simulated player of another physics: an instrument that does not share the learner's formulas.

The truth is computed exactly and one fingering at a time, by a tube that differs from the shipped
one in what the learner assumes, and not in measures alone:

- another reed: a compliance of 8 mm of bore with a resonance at 2.2 kHz (scaled with the tube);
- open holes radiate from the wall of a cylinder and not from a free edge;
- the air is 5 K warmer at the top and 4 K colder at the bell;
- ordinary notes are off equal temperament by 6 cents: a smooth curve for each register and a part
  of each note's own; those of the altissimo are within 8 cents;
- every other fingering has 6 cents of its own, by Student's t with four degrees of freedom, which
  fingerings share whose truth is the same to about a cent (a key that does nothing);
- some fingerings do not speak: those with a low impedance peak, and one of twenty by chance.

No recording of a real instrument is behind it. Sizes: judgement, from memory. Source of the end
correction at a cylinder's wall: Dalmont, Nederveen & Joly, J. Sound Vib. 244 (2001) 505-534.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np

from analysis.acoustics import (
    CALIBRATION_TEMPERATURE_C,
    Geometry,
    TubeModel,
    change_geometry,
    decode_holes,
    find_air,
    find_resonances,
    find_sensitivities,
    list_parameters,
)
from analysis.acoustics.calibration import load_initial_geometry
from analysis.acoustics.calibration_notes import find_targets, list_notes, stack_states
from analysis.acoustics.geometry import BoreStation
from analysis.acoustics.resonances import find_heights
from analysis.acoustics.transfer_matrices import Complex
from analysis.finder import LoggedPitch, PlayerModel
from analysis.finder.spots import Bits, Real, Spots
from analysis.finder.tube import Tube
from analysis.keywork import KeyStates, Layout, list_first_day, load_layout
from analysis.pitch import Register, WrittenPitch

INSTRUMENTS = {"soprano": ("b-flat-soprano", "soprano-17-6"), "bass": ("b-flat-bass", "bass-low-c")}
NOISE_CENTS = 3.0
_REED_SHARE = 8.0 / 600.0
_REED_HZ_TIMES_MM = 2200.0 * 600.0
_REED_DAMPING = 0.1
_TOP_KELVIN, _BELL_KELVIN = 5.0, -4.0
_OUTER_OVER_BORE = 1.9
_CURVE_CENTS = _NOTE_CENTS = 6.0 / math.sqrt(2.0)
_OWN_CENTS, _FREEDOM = 6.0, 4.0
_ALTISSIMO_CENTS = 8.0
_LOW_HEIGHT, _HEIGHT_SPREAD, _UNLUCKY_SHARE = 0.06, 0.5, 0.05
_STEPS = 5
# A draw that no tuning brings nearer than this is no instrument.
_TUNABLE_CENTS = 20.0
_SPREAD_CENTS = {Register.ALTISSIMO.value: _ALTISSIMO_CENTS}
_BATCH = 1_000


class OtherTube(TubeModel):
    """A tube with a reed of its own at the top and holes that radiate from a cylinder's wall."""

    def find_reed_admittance(self, omega: Real) -> Complex:
        """Find what the reed adds to the input admittance of the bore; shapes as in `TubeModel`."""
        length_mm = self.geometry.length_mm
        area = math.pi * (self.geometry.bore[0].radius_mm / 1000.0) ** 2
        stiffness = self.air.density_kg_m3 * self.air.sound_speed_m_s**2
        compliance = area * _REED_SHARE * length_mm / 1000.0 / stiffness
        share = omega / (2.0 * np.pi * _REED_HZ_TIMES_MM / length_mm)
        return np.asarray(1j * omega * compliance / (1.0 - share**2 + _REED_DAMPING * 1j * share))

    def find_lip_admittance(self, omega: Real) -> Complex:
        """Find what one mm more of its own reed adds; shapes as in `TubeModel`."""
        return self.find_reed_admittance(omega) / (_REED_SHARE * self.geometry.length_mm)


def change_physics(geometry: Geometry) -> Geometry:
    """Make the tube of plain air that acts like one with a reed, warm air and wall radiation.

    The reed takes its length off the top. Where air is warmer waves are quicker, so the same
    piece is shorter, and its impedance is lower, so it is wider. A hole's end is longer by what a
    cylinder's wall adds to a free edge.
    """
    total = geometry.length_mm
    reed_mm = _REED_SHARE * total
    base_k = 273.15 + CALIBRATION_TEMPERATURE_C

    def warm(x_mm: float) -> float:
        return _TOP_KELVIN + (_BELL_KELVIN - _TOP_KELVIN) * x_mm / total

    def place(x_mm: float) -> float:
        # the integral of one over the relative speed of sound, to first order in the temperature
        mean = 0.5 * (warm(0.0) + warm(x_mm))
        return (x_mm - reed_mm) * (1.0 - 0.5 * mean / base_k)

    def narrow(x_mm: float) -> float:
        return 1.0 - 0.25 * warm(x_mm) / base_k

    inner = [s for s in geometry.bore if s.x_mm > reed_mm]
    top = BoreStation(0.0, geometry.bore[0].radius_mm * narrow(0.0))
    bore = (top, *(BoreStation(place(s.x_mm), s.radius_mm * narrow(s.x_mm)) for s in inner))
    holes = []
    for hole in geometry.holes:
        outer_mm = _OUTER_OVER_BORE * geometry.bore[1].radius_mm
        wall = 0.8216 - 0.47 * (hole.radius_mm / outer_mm) ** 0.8
        longer = hole.radius_mm * max(wall - 0.6133, 0.0)
        holes.append(replace(hole, x_mm=place(hole.x_mm), chimney_mm=hole.chimney_mm + longer))
    return replace(geometry, bore=bore, holes=tuple(holes), reed=None)


@dataclass(frozen=True)
class OtherPlayer:
    """An instrument of another physics: `tube` is believed, `model` true."""

    tube: Tube
    model: OtherTube
    seed: int
    bends: dict[int, tuple[Real, Real, Real]]
    altissimo: Real
    ordinary: dict[int, float]
    peaks: tuple[Real, Real]
    pool: Pool
    _truths: dict[int, tuple[float, float]] = field(default_factory=dict)

    def find_cents(self, spots: Spots) -> Real:
        """Find where spots truly sound, written cents; not-a-number where they do not speak."""
        found, heights = self._find_exact(spots)
        cents = found + self._bend(spots, found) + self._find_own(spots, found)
        usual = np.interp(found, *self.peaks)
        for place, name in enumerate(spots.names):
            if name in self.ordinary:
                continue
            rng = np.random.default_rng([self.seed, 7, name])
            limit = _LOW_HEIGHT * math.exp(_HEIGHT_SPREAD * rng.standard_normal())
            if rng.random() < _UNLUCKY_SHARE or not heights[place] > limit * usual[place]:
                cents[place] = np.nan
        return np.asarray(cents)

    def _find_exact(self, spots: Spots) -> tuple[Real, Real]:
        names = spots.names
        fresh = {n: place for place, n in enumerate(names) if n not in self._truths}
        places = np.array(list(fresh.values()), dtype=np.int64)
        for first in range(0, len(places), _BATCH):
            some = spots.select(places[first : first + _BATCH])
            self._truths.update(zip(some.names, _solve(self.model, some), strict=True))
        found = np.array([self._truths[name] for name in names]).reshape(-1, 2)
        return found[:, 0], found[:, 1]

    def _bend(self, spots: Spots, cents: Real) -> Real:
        made = np.zeros(len(spots))
        for register, (sizes, lengths, phases) in self.bends.items():
            here = np.where(np.isfinite(cents), cents, 0.0)[:, np.newaxis]
            waves = np.sin(here / lengths + phases) @ sizes
            made = np.where(spots.registers == register, waves, made)
        low, high, *line = self.altissimo
        corrected = np.polyval(line, np.clip(cents, low, high))
        return np.where(spots.numbers > 2, made - corrected, made)

    def _find_own(self, spots: Spots, cents: Real) -> Real:
        return np.array(
            [
                self.ordinary[name] if name in self.ordinary else self._draw(number, cent)
                for name, number, cent in zip(
                    spots.names, spots.numbers.tolist(), cents.tolist(), strict=True
                )
            ]
        ).reshape(len(spots))

    def _draw(self, number: int, cents: float) -> float:
        if not math.isfinite(cents):
            return math.nan
        rng = np.random.default_rng([self.seed, number, round(cents)])
        return _OWN_CENTS / math.sqrt(2.0) * float(rng.standard_t(_FREEDOM))

    def find_offset(self, fingering: KeyStates, target: WrittenPitch) -> float:
        """Find how far a fingering truly sounds from a target; not-a-number for silence."""
        wanted = float(target.cents) + self.tube.treble_shift_cents
        return float(self.find_cents(self.find_spots([fingering], target))[0]) - wanted

    def find_spots(self, fingerings: Sequence[KeyStates], target: WrittenPitch) -> Spots:
        """Find the spots of some fingerings that the believed tube puts nearest to a target."""
        keys = np.array([self.tube.linkage.encode(one) for one in fingerings], dtype=np.uint64)
        wanted = np.full(len(keys), float(target.cents) + self.tube.treble_shift_cents)
        return self.tube.find_nearest(self.tube.linkage.find_holes(keys), wanted)

    def find_exact_cents(self, spots: Spots) -> Real:
        """Find the resonances of the true tube, written cents, shape (n,)."""
        return self._find_exact(spots)[0]

    def _find_holes(self, fingering: KeyStates) -> Bits:
        keys = np.array([self.tube.linkage.encode(fingering)], dtype=np.uint64)
        return self.tube.linkage.find_holes(keys)

    def play(self, fingering: KeyStates, written: WrittenPitch) -> LoggedPitch:
        """Play a fingering for a note and log it, with the noise of a measurement."""
        offset = self.find_offset(fingering, written)
        if not math.isfinite(offset):
            return LoggedPitch(fingering, written, None, NOISE_CENTS)
        rng = np.random.default_rng([self.seed, 1, int(self._find_holes(fingering)[0])])
        noise = NOISE_CENTS * float(rng.standard_normal())
        return LoggedPitch(fingering, written, offset + noise, NOISE_CENTS)


@dataclass(frozen=True)
class Pool:
    """Pool to ask of: all key sets within three keys of an ordinary fingering, and spots."""

    keys: Bits
    spots: Spots


def _solve(model: OtherTube, spots: Spots) -> list[tuple[float, float]]:
    states = decode_holes(spots.holes, len(model.geometry.holes))
    every = find_resonances(model, states)
    shift = model.geometry.treble_transposition_cents
    # what is heard has no number: it is the resonance near where it was looked for
    apart = np.abs(every - shift - spots.cents[:, np.newaxis])
    nearest = np.argmin(np.where(np.isnan(apart), np.inf, apart), axis=1)
    cents = every[np.arange(len(spots)), nearest]
    heights = find_heights(model, states, cents[:, np.newaxis])[:, 0]
    return list(zip((cents - shift).tolist(), heights.tolist(), strict=True))


@cache
def make_other_player(instrument: str, seed: int) -> OtherPlayer:
    """Make a player of one of `INSTRUMENTS`; some seconds, the same for the same seed.

    Raises:
        ValueError: the measures drawn can't be put in tune.
    """
    kind, layout_id = INSTRUMENTS[instrument]
    layout = load_layout(layout_id)
    tube = PlayerModel.fit(kind, layout, []).tube
    rng = np.random.default_rng([seed, 101])
    start = load_initial_geometry(tube.geometry.id)
    parameters = list_parameters(start)
    drawn = [p.spread * rng.standard_normal() for p in parameters]
    start = change_physics(change_geometry(start, parameters, drawn))
    model = OtherTube(_tune(start, layout), find_air(CALIBRATION_TEMPERATURE_C))
    bends = {}
    for place, _ in enumerate(Register):
        sizes = rng.standard_normal(3) * _CURVE_CENTS * math.sqrt(2.0 / 3.0)
        bends[place] = (sizes, rng.uniform(150.0, 500.0, 3), rng.uniform(0.0, 6.3, 3))
    found = np.zeros(4)
    player = OtherPlayer(tube, model, seed, bends, found, {}, (found, found), make_pool(tube))
    return _settle(player, layout, rng)


def _tune(start: Geometry, layout: Layout) -> Geometry:
    """Tune a tube of another physics by its ordinary notes, the altissimo roughly."""
    notes = list_notes(layout)
    spread = np.array([_SPREAD_CENTS.get(note.group, 3.0) for note in notes])
    parameters = list_parameters(start)
    spreads = np.array([parameter.spread for parameter in parameters])
    states, targets = stack_states(notes), find_targets(notes, start)
    numbers = np.array([note.number for note in notes])
    changes = np.zeros(len(parameters))
    geometry = start
    for _ in range(_STEPS):
        model = OtherTube(geometry, find_air(CALIBRATION_TEMPERATURE_C))
        cents = find_resonances(model, states)[np.arange(len(notes)), numbers - 1]
        known = np.isfinite(cents)
        slopes = find_sensitivities(model, states[known], cents[known], parameters)
        rows = np.vstack([slopes / spread[known, np.newaxis], np.diag(1.0 / spreads)])
        left = np.concatenate([(cents[known] - targets[known]) / spread[known], changes / spreads])
        changes = changes - np.linalg.lstsq(rows, left, rcond=None)[0]
        geometry = change_geometry(start, parameters, changes)
    return geometry


def _settle(player: OtherPlayer, layout: Layout, rng: np.random.Generator) -> OtherPlayer:
    """Give ordinary notes errors of their own, and bring those of the altissimo within 8 cents."""
    notes = list_notes(layout)
    holes = player.tube.linkage.find_holes(
        np.array([player.tube.linkage.encode(note.fingering) for note in notes], dtype=np.uint64)
    )
    numbers = np.array([note.number for note in notes], dtype=np.int64)
    wanted = np.array([float(note.written.cents) for note in notes])
    spots = Spots(holes, numbers, wanted)
    cents, heights = player._find_exact(spots)
    if not np.nanmedian(np.abs(cents - wanted)) <= _TUNABLE_CENTS:
        raise ValueError(f"No instrument came of seed {player.seed}: take another.")
    own = dict(zip(spots.names, _NOTE_CENTS * rng.standard_normal(len(notes)), strict=True))
    high = numbers == 3
    errors = cents[high] - wanted[high] + player._bend(spots, cents)[high]
    line = np.polyfit(cents[high], errors, 1)
    altissimo = np.concatenate([[cents[high].min(), cents[high].max()], line])
    left = errors - np.polyval(line, cents[high])
    for name, rest in zip(spots.select(high).names, left.tolist(), strict=True):
        own[name] = float(np.clip(rest + own[name], -_ALTISSIMO_CENTS, _ALTISSIMO_CENTS)) - rest
    order = np.argsort(cents)
    peaks = (cents[order], np.exp(np.convolve(np.log(heights[order]), np.ones(5) / 5, "same")))
    return replace(player, altissimo=altissimo, ordinary=own, peaks=peaks)


def make_pool(tube: Tube, most_changes: int = 3) -> Pool:
    """Make the pool of a tube: each hole set and resonance once, with its simplest keys."""
    keys, holes, numbers, counts = [], [], [], []
    for note in list_notes(tube.layout):
        base = tube.linkage.encode(note.fingering)
        around = tube.linkage.find_within(base, most_changes)
        keys.append(around)
        holes.append(tube.linkage.find_holes(around))
        numbers.append(np.full(len(around), note.number))
        counts.append(np.bitwise_count(around ^ np.uint64(base)))
    every = Spots(np.concatenate(holes), np.concatenate(numbers), np.zeros(0))
    order = np.lexsort((np.concatenate(counts), every.codes))
    _, first = np.unique(every.codes[order], return_index=True)
    kept = order[first]
    spots = tube.locate(every.holes[kept], every.numbers[kept])
    known = np.isfinite(spots.cents)
    return Pool(np.concatenate(keys)[kept][known], spots.select(known))


def log_first_day(player: OtherPlayer) -> list[LoggedPitch]:
    """Log what the page of the first day asks for."""
    return [player.play(one.fingering, one.written) for one in list_first_day(player.tube.layout)]


def log_attempts(
    player: OtherPlayer, targets: Sequence[WrittenPitch], count: int
) -> list[LoggedPitch]:
    """Log attempts at targets: what lies within 40 cents by the bare tube, drawn at random."""
    rng = np.random.default_rng([player.seed, 2])
    logs: list[LoggedPitch] = []
    for _ in range(100 * count):
        if len(logs) >= count:
            break
        target = targets[int(rng.integers(len(targets)))]
        near = np.flatnonzero(np.abs(player.pool.spots.cents - float(target.cents)) < 40.0)
        if len(near):
            keys = player.pool.keys[near[rng.integers(len(near))]]
            logs.append(player.play(player.tube.linkage.decode(int(keys)), target))
    return logs
