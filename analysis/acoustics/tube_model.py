"""Transfer-matrix model of the whole tube: its input admittance, as the reed sees it.

A geometry is cut at every hole and every bore station into cones; the pieces from the top down are
what `TubeModel` keeps. States of holes are small integers in the order of the layout: the
index into `HOLE_STATES`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.air import Air
from analysis.acoustics.geometry import SHADED_AREA_SHARE, Geometry, Reed, ToneHole
from analysis.acoustics.radiation import find_unflanged_phase
from analysis.acoustics.toneholes import ToneHoleSection, find_hole_matrix, pad_length_m
from analysis.acoustics.transfer_matrices import (
    Complex,
    Matrix,
    Real,
    Wave,
    find_cone_matrix,
    find_wave,
)
from analysis.keywork import HoleState

HOLE_STATES = (HoleState.CLOSED, HoleState.OPEN, HoleState.SHADED)
CLOSED, OPEN, SHADED = range(3)
_REED_DAMPING = 0.1

# One row for each fingering, one column for each hole of the layout.
States = NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class Cone:
    """A piece of bore without holes; metres."""

    upper_radius_m: float
    lower_radius_m: float
    length_m: float


@dataclass(frozen=True, slots=True)
class PlacedHole:
    """A hole on the tube: its place in the layout and the cones that lead to it from above."""

    index: int
    above: tuple[Cone, ...]
    hole: ToneHoleSection


@dataclass(frozen=True)
class TubeModel:
    """A geometry in a given air, ready to be evaluated at any frequencies.

    Angular frequencies `omega` are arrays of any shape, rad/s, above 0; admittances in m^3/(Pa s)
    have the same shape, or that of the states beside it.
    """

    geometry: Geometry
    air: Air

    @cached_property
    def order(self) -> tuple[int, ...]:
        """The places in the layout of the holes from the top of the tube down."""
        holes = self.geometry.holes
        return tuple(sorted(range(len(holes)), key=lambda index: holes[index].x_mm))

    @cached_property
    def holes(self) -> tuple[PlacedHole, ...]:
        """The holes from the top of the tube down, each with the bore above it."""
        return tuple(map(self.place_hole, range(len(self.order))))

    def place_hole(self, position: int) -> PlacedHole:
        """Find one of `holes` without measuring the others."""
        index = self.order[position]
        hole = self.geometry.holes[index]
        above_mm = self.geometry.holes[self.order[position - 1]].x_mm if position else 0.0
        return PlacedHole(index, self._cut(above_mm, hole.x_mm), self._measure(hole))

    @cached_property
    def foot(self) -> tuple[Cone, ...]:
        """The bore below the lowest hole."""
        return self._cut(self.geometry.holes[self.order[-1]].x_mm, self.geometry.length_mm)

    def find_bell_admittance(self, omega: Real) -> Complex:
        """Find the admittance of the open end of the bell."""
        radius_m = self.geometry.bore[-1].radius_mm / 1000.0
        phase = find_unflanged_phase(omega / self.air.sound_speed_m_s, radius_m)
        return 1.0 / (1j * find_wave(radius_m, omega, self.air).impedance * np.tan(phase))

    def find_foot_admittance(self, omega: Real) -> Complex:
        """Find the admittance just below the lowest hole."""
        return self.climb(self.foot, self.find_bell_admittance(omega), omega)

    def find_reed_admittance(self, omega: Real) -> Complex:
        """Find what the reed adds to the input admittance beyond a reed held still.

        An oscillator of one degree of freedom: a compliance that grows towards its resonance. What
        it is at low frequencies is part of the tube's length, and taken off. Source: Nederveen,
        Acustica 14 (1964); Chaigne & Kergomard (2016), chapter 9. Its length, resonance and damping
        are judgement: they put the altissimo about in tune, with which nothing was calibrated.
        """
        reed = self.geometry.reed
        if reed is None:
            return np.zeros(omega.shape, dtype=np.complex128)
        still = 1j * omega * self._find_compliance(reed.length_mm)
        return np.asarray(still * (self._find_resonating(reed, omega) - 1.0))

    def find_lip_admittance(self, omega: Real) -> Complex:
        """Find what one mm more of the reed's length adds to the input admittance.

        A looser lip lets the reed give way more. Admittance in m^3/(Pa s) for each mm.
        """
        reed = self.geometry.reed or Reed(1.0, 1e6)
        return np.asarray(
            1j * omega * self._find_compliance(1.0) * self._find_resonating(reed, omega)
        )

    def _find_compliance(self, length_mm: float) -> float:
        area = math.pi * (self.geometry.bore[0].radius_mm / 1000.0) ** 2
        stiffness = self.air.density_kg_m3 * self.air.sound_speed_m_s**2
        return area * length_mm / 1000.0 / stiffness

    def _find_resonating(self, reed: Reed, omega: Real) -> Complex:
        share = omega / (2.0 * np.pi * reed.resonance_hz)
        return np.asarray(1.0 / (1.0 - share**2 + 1j * _REED_DAMPING * share))

    def climb(
        self,
        cones: tuple[Cone, ...],
        below: Complex,
        omega: Real,
        waves: dict[float, Wave] | None = None,
    ) -> Complex:
        """Carry an admittance up through pieces of bore; `waves` as in `find_cone_matrix`."""
        for cone in reversed(cones):
            below = self.cone_matrix(cone, omega, waves).admittance(below)
        return below

    def cone_matrix(
        self, cone: Cone, omega: Real, waves: dict[float, Wave] | None = None
    ) -> Matrix:
        """Find the matrix of one piece of bore; `waves` as in `find_cone_matrix`."""
        radii_m = cone.upper_radius_m, cone.lower_radius_m
        return find_cone_matrix(*radii_m, cone.length_m, omega=omega, air=self.air, waves=waves)

    def hole_matrix(self, hole: ToneHoleSection, states: States, omega: Real) -> Matrix:
        """Find the matrix of a hole; states and frequencies are broadcast against each other."""
        if states.shape == omega.shape:
            return self._hole_matrix_by_state(hole, states, omega)
        first, *others = np.flatnonzero(np.bincount(states.ravel(), minlength=len(HOLE_STATES)))
        made = find_hole_matrix(hole, HOLE_STATES[first], omega=omega, air=self.air)
        for code in others:
            matrix = find_hole_matrix(hole, HOLE_STATES[code], omega=omega, air=self.air)
            pairs = zip(matrix, made, strict=True)
            is_so = states == code
            made = Matrix(*(np.where(is_so, new, old) for new, old in pairs))
        return made

    def _hole_matrix_by_state(self, hole: ToneHoleSection, states: States, omega: Real) -> Matrix:
        """Find the matrix of a hole where each frequency has a state of its own."""
        made = Matrix(*np.empty((4, *omega.shape), dtype=np.complex128))
        for code in np.unique(states):
            here = states == code
            matrix = find_hole_matrix(hole, HOLE_STATES[code], omega=omega[here], air=self.air)
            for entries, found in zip(made, matrix, strict=True):
                entries[here] = found
        return made

    def find_input_admittance(self, states: States, omega: Real) -> Complex:
        """Find the input admittance of many fingerings at many frequencies.

        Args:
            states: shape (..., holes), codes of `HOLE_STATES`, at least one fingering.
            omega: rad/s; its shape is broadcast against the leading axes of `states`.

        Returns:
            Admittances in m^3/(Pa s), of the broadcast shape.
        """
        below = self.find_foot_admittance(omega)
        waves: dict[float, Wave] = {}  # most of the bore is a cylinder
        for placed in reversed(self.holes):
            matrix = self.hole_matrix(placed.hole, states[..., placed.index], omega)
            below = self.climb(placed.above, matrix.admittance(below), omega, waves)
        below = below + self.find_reed_admittance(omega)
        return np.broadcast_to(below, np.broadcast_shapes(states.shape[:-1], omega.shape))

    def _cut(self, upper_mm: float, lower_mm: float) -> tuple[Cone, ...]:
        places, _ = self._bore
        inside = places[(upper_mm < places) & (places < lower_mm)].tolist()
        ends = [upper_mm, *inside, lower_mm]
        radii = [self.radius_mm(end) / 1000.0 for end in ends]
        return tuple(
            Cone(above, below, (b - a) / 1000.0)
            for (a, b), (above, below) in zip(pairwise(ends), pairwise(radii), strict=True)
        )

    def radius_mm(self, x_mm: float) -> float:
        """Find the radius of the bore at a place, straight between stations."""
        return float(np.interp(x_mm, *self._bore))

    @cached_property
    def _bore(self) -> tuple[Real, Real]:
        bore = self.geometry.bore
        places, radii = zip(*((station.x_mm, station.radius_mm) for station in bore), strict=True)
        return np.array(places), np.array(radii)

    def _measure(self, hole: ToneHole) -> ToneHoleSection:
        iris_mm = hole.iris_radius_mm or hole.radius_mm * math.sqrt(SHADED_AREA_SHARE)
        return ToneHoleSection(
            radius_m=hole.radius_mm / 1000.0,
            bore_radius_m=self.radius_mm(hole.x_mm) / 1000.0,
            chimney_m=hole.chimney_mm / 1000.0,
            pad_length_m=pad_length_m(
                radius_mm=hole.radius_mm,
                pad_rim_mm=self.geometry.pad_rim_mm,
                height_mm=hole.pad_height_mm,
                rim_mm=self.geometry.hole_rim_mm,
            ),
            iris_radius_m=iris_mm / 1000.0,
            iris_thickness_m=hole.iris_thickness_mm / 1000.0,
        )
