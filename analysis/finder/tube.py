"""Tube of one kind of clarinet: where each fingering sounds by itself, and its sensitivities.

A *spot* is a hole set together with the number of one of its resonances (1 to 5): what a logged
or a suggested fingering comes down to. Cents here are written, in treble notation.

The *base* of a spot is the ordinary fingering on the same resonance that is nearest to it: in
holes that differ, and in pitch, where a quarter tone counts like one hole. Its *shift* is how far
the tube puts it from that base. The model is surer of small shifts than of large ones.

No tube was calibrated by the altissimo, but its ordinary fingerings are in tune on any good
instrument. So what the tube gets wrong there is its *anchor error* (`ordinary_spots`), which is
taken off every resonance from the third on. Sensitivities belong to the tube as it is, so the
cents of spots are without that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import count

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics import (
    RESONANCE_COUNT,
    Geometry,
    Linkage,
    Screened,
    Screening,
    TubeModel,
    UnknownGeometry,
    decode_holes,
    find_air,
    find_fingerprint,
    find_resonances,
    find_sensitivities,
    list_parameters,
    load_geometry,
)
from analysis.acoustics.calibration_notes import list_notes
from analysis.acoustics.resonances import find_heights
from analysis.acoustics.sensitivity_tables import SensitivityTables
from analysis.acoustics.tube_model import States
from analysis.finder.caching import Arrays, FinderCache, Progress
from analysis.finder.errors import FinderUnavailable
from analysis.finder.ordinary_spots import Anchors, find_anchors, find_ordinary
from analysis.finder.principal_components import find_covariance_root
from analysis.finder.row_table import RowTable
from analysis.finder.spots import Bits, Numbers, Real, Spots
from analysis.keywork import (
    Acts,
    Digit,
    Finger,
    Hand,
    Key,
    Layout,
    State,
    fingerings_to_try,
    ordinary_fingerings,
)
from analysis.pitch import KINDS, Register, register_of

# Changes whenever the same figures would give other sensitivities.
_SENSITIVITIES_VERSION = "3"
_BATCH = 2_000
# From so many sensitivities on it is quicker to tabulate them than to compute each.
_MANY = 1_000
_SERIALS = count()
FindSlopes = Callable[[States, Real], Real]
PREPARED_CHANGES = 3
CENTS_LIKE_A_HOLE = 50.0
# Neighbours three quarter tones away, and how far the tube may be off.
PREPARED_CENTS = 260.0


@dataclass(frozen=True)
class Tube:
    """The tube of one kind of clarinet with its keywork, in air of one temperature."""

    kind_id: str
    layout: Layout
    geometry: Geometry
    temperature_c: float
    covariance_root: Real
    cache: FinderCache
    linkage: Linkage
    ordinary: Spots
    anchors: Anchors
    screening: Screening
    # without the screening each fingering is computed exactly: for a few that is quicker
    is_screened: bool = True
    prepared: set[object] = field(default_factory=set)
    # tells what was computed with this tube from what was with another; never used again
    serial: int = field(default_factory=lambda: next(_SERIALS))
    _stored: dict[str, int] = field(default_factory=dict)
    _exact_cents: dict[int, Real] = field(default_factory=dict)

    @classmethod
    def load(
        cls,
        kind_id: str,
        layout: Layout,
        *,
        temperature_c: float,
        cache: FinderCache,
        is_screened: bool = True,
    ) -> Tube:
        """Load or compute what is known of a tube; kept in the cache's memory.

        Args:
            kind_id: an id of `analysis.pitch.KINDS`.
            layout: the keywork.
            temperature_c: of the air inside, 0 to 45.
            cache: keeps what is slow to compute.
            is_screened: False for a tube that is asked for a few fingerings only.

        Raises:
            FinderUnavailable: nothing is known of this tube.
        """
        try:
            geometry = load_geometry(kind_id, layout.id)
        except UnknownGeometry as error:
            raise FinderUnavailable(str(error)) from error
        name = f"tube-{kind_id}-{layout.id}-{layout.customisation}-{temperature_c:g}"
        name += "" if is_screened else "-unscreened"
        made = cache.recall(
            name,
            lambda: cls._make(
                kind_id, layout, geometry, temperature_c, cache, is_screened=is_screened
            ),
        )
        assert isinstance(made, Tube)
        return made

    @classmethod
    def _make(
        cls,
        kind_id: str,
        layout: Layout,
        geometry: Geometry,
        temperature_c: float,
        cache: FinderCache,
        *,
        is_screened: bool,
    ) -> Tube:
        linkage = Linkage(layout)
        fingerprint = find_fingerprint(geometry, layout, temperature_c=temperature_c)
        root = cache.recall_array(
            f"ways-{_SENSITIVITIES_VERSION}-{fingerprint}",
            lambda: find_covariance_root(geometry, layout, linkage, temperature_c),
        )
        model = TubeModel(geometry, find_air(temperature_c))
        ordinary = find_ordinary(layout, linkage, model)
        tube = cls(
            kind_id=kind_id,
            layout=layout,
            geometry=geometry,
            temperature_c=temperature_c,
            covariance_root=root,
            cache=cache,
            linkage=linkage,
            ordinary=ordinary.spots,
            anchors=find_anchors(ordinary),
            screening=Screening(model),
            is_screened=is_screened,
        )
        if is_screened:
            tube._read_stored()
        return tube

    @cached_property
    def _rows(self) -> RowTable:
        return RowTable(self.covariance_root.shape[1])

    @cached_property
    def _tables(self) -> SensitivityTables:
        return SensitivityTables(self.model, list_parameters(self.geometry))

    @property
    def treble_shift_cents(self) -> int:
        """What to add to a written pitch of this kind to get treble notation."""
        return KINDS[self.kind_id].treble_shift_cents

    @property
    def model(self) -> TubeModel:
        """The tube itself."""
        return TubeModel(self.geometry, find_air(self.temperature_c))

    @property
    def vent_keys(self) -> tuple[Key, ...]:
        """The keys that open a register vent: with them the register changes."""
        vents = {
            mover.key_id
            for hole in self.layout.holes
            if hole.id in self.geometry.vent_ids
            for mover in hole.opened_by
        }
        return tuple(key for key in self.layout.keys if key.id in vents)

    @property
    def shading_keys(self) -> tuple[Key, ...]:
        """The keys whose hole a player may shade: that of the left first finger."""
        return tuple(
            key
            for key in self.layout.keys
            if key.acts is Acts.HOLE
            and State.SHADED in key.states
            and (key.hand, key.finger) == (Hand.LEFT, Finger.FIRST)
        )

    @cached_property
    def thumb_holes(self) -> np.uint64:
        """The hole of the left thumb, as a hole set; empty where the layout has none."""
        thumbs = {
            key.id
            for key in self.layout.keys
            if key.acts is Acts.HOLE and key.digit == Digit(Hand.LEFT, Finger.THUMB)
        }
        places = [n for n, hole in enumerate(self.layout.holes) if hole.finger_key_id in thumbs]
        return np.uint64(sum(1 << place for place in places))

    def find_wild(self, spots: Spots) -> NDArray[np.bool_]:
        """Find spots above the first resonance with the thumb's hole open and the base's not."""
        bases, _ = self.find_bases(spots)
        opened = spots.holes & ~self.ordinary.holes[bases] & self.thumb_holes
        return np.asarray((opened != 0) & (spots.numbers > 1))

    def locate(self, holes: Bits, numbers: Numbers) -> Spots:
        """Find where hole sets sound on given resonances; `holes` and `numbers` of shape (n,)."""
        return Spots(holes, numbers, self.find_cents(holes)[np.arange(len(holes)), numbers - 1])

    def find_cents(self, holes: Bits) -> Real:
        """Find the resonances of hole sets (n,), shape (n, 5); not-a-number for none."""
        if self.is_screened:
            return self.screening.find(holes).written_cents.astype(np.float64)
        return self._find_exact(holes)

    def _find_exact(self, holes: Bits) -> Real:
        fresh = np.unique([hole for hole in holes if int(hole) not in self._exact_cents])
        for first in range(0, len(fresh), _BATCH):
            some = fresh[first : first + _BATCH].astype(np.uint64)
            states = decode_holes(some, len(self.layout.holes))
            found = find_resonances(self.model, states)
            found -= self.geometry.treble_transposition_cents
            self._exact_cents.update(zip(map(int, some), found, strict=True))
        cents = [self._exact_cents[int(hole)] for hole in holes]
        return np.array(cents, dtype=np.float64).reshape(len(holes), RESONANCE_COUNT)

    def find_heights(self, spots: Spots) -> Real:
        """Find how high the impedance is at spots, over that of the bore's top, shape (n,)."""
        if self.is_screened:
            heights = self.screening.find(spots.holes).heights
            return heights[np.arange(len(spots)), spots.numbers - 1].astype(np.float64)
        states = decode_holes(spots.holes, len(self.layout.holes))
        sounding = spots.cents + self.geometry.treble_transposition_cents
        return find_heights(self.model, states, sounding[:, np.newaxis])[:, 0]

    def find_nearest(self, holes: Bits, cents: Real) -> Spots:
        """Find for each hole set the resonance nearest to the cents wanted; both of shape (n,)."""
        found = self.find_cents(holes)
        distance = np.where(np.isnan(found), np.inf, np.abs(found - cents[:, np.newaxis]))
        numbers = np.argmin(distance, axis=1) + 1
        return Spots(holes, numbers, found[np.arange(len(holes)), numbers - 1])

    def find_bases(self, spots: Spots) -> tuple[Numbers, Real]:
        """Find for each spot the place of its base in `ordinary`, and its shift from there."""
        differing = np.bitwise_count(spots.holes[:, np.newaxis] ^ self.ordinary.holes)
        apart = np.abs(spots.cents[:, np.newaxis] - self.ordinary.cents)
        cost = differing + np.minimum(apart, 2400.0) / CENTS_LIKE_A_HOLE
        cost = np.where(spots.numbers[:, np.newaxis] == self.ordinary.numbers, cost, np.inf)
        bases = np.argmin(cost, axis=1)
        return bases, spots.cents - self.ordinary.cents[bases]

    def find_rows(self, spots: Spots) -> Real:
        """Find what one standard deviation of each way the tube may be off does to each spot.

        Returns:
            Shape (n, ways), cents: times its transpose it is the covariance of the spots.
        """
        with self.cache.lock:
            fresh = self._rows.list_missing(spots.codes)
            is_tabulated = len(fresh) >= _MANY or "_tables" in vars(self)
            find = self._tables.find if is_tabulated else self._find_slopes
            for first in range(0, len(fresh), _BATCH):
                self._compute_rows(spots.select(fresh[first : first + _BATCH]), find)
            return self._rows.find(spots.codes)

    def _compute_rows(self, spots: Spots, find: FindSlopes) -> None:
        states = decode_holes(spots.holes, len(self.layout.holes))
        slopes = find(states, spots.cents + self.geometry.treble_transposition_cents)
        self._rows.add(spots.codes, slopes @ self.covariance_root)

    def _find_slopes(self, states: States, cents: Real) -> Real:
        return find_sensitivities(self.model, states, cents, list_parameters(self.geometry))

    def prepare(self, report: Progress) -> None:
        """Compute beforehand what suggestions will ask for, and store it; takes some seconds.

        All spots within `PREPARED_CHANGES` keys of an ordinary fingering on its own resonance.
        `report` is told the share done; what it raises ends the work, and what is done is stored.
        """
        wanted = self.list_common()
        try:
            for first in range(0, len(wanted), _BATCH):
                self.find_rows(wanted.select(np.arange(first, min(first + _BATCH, len(wanted)))))
                report(min(1.0, (first + _BATCH) / max(1, len(wanted))))
        finally:
            self.store()

    def list_common(self) -> Spots:
        """List all spots within a few keys of an ordinary fingering, on its own resonance."""
        bases = self._list_bases()
        around = [self._find_holes_around(base) for base, _, _ in bases]
        self.find_cents(np.unique(np.concatenate(around)))  # at once, which is quicker
        found: list[Spots] = []
        for (_, number, cents), holes in zip(bases, around, strict=True):
            spots = self.locate(holes, np.full(len(holes), number))
            found.append(spots.select(np.abs(spots.cents - cents) <= PREPARED_CENTS))
        together = Spots(
            np.concatenate([spots.holes for spots in found]),
            np.concatenate([spots.numbers for spots in found]),
            np.concatenate([spots.cents for spots in found]),
        )
        _, places = np.unique(together.codes, return_index=True)
        return together.select(places)

    def _find_holes_around(self, base: int) -> Bits:
        keys = self.linkage.find_within(base, PREPARED_CHANGES)
        return np.unique(self.linkage.find_holes(keys))

    def _list_bases(self) -> list[tuple[int, int, float]]:
        """List the key set, the resonance and the note of every fingering to start from."""
        listed = [
            (self.linkage.encode(note.fingering), note.number, float(note.written.cents))
            for note in list_notes(self.layout)
        ]
        for one in (*ordinary_fingerings(self.layout), *fingerings_to_try(self.layout)):
            wanted = float(one.written.cents)
            if register_of(one.written) is Register.ALTISSIMO:
                keys = self.linkage.encode(one.fingering)
                holes = self.linkage.find_holes(np.array([keys], dtype=np.uint64))
                number = int(self.find_nearest(holes, np.array([wanted])).numbers[0])
                listed.append((keys, number, wanted))
        return list(dict.fromkeys(listed))

    def _read_stored(self) -> None:
        rows = self.cache.load_arrays(self._rows_name)
        if rows is not None:
            self._rows.add(rows["codes"].astype(np.uint64), rows["rows"].astype(np.float32))
            self._stored["rows"] = len(rows["codes"])
        screened = self.cache.load_arrays(self._screening_name)
        if screened is not None:
            self.screening.add(
                Screened(
                    screened["holes"].astype(np.uint64),
                    screened["written_cents"].astype(np.float32),
                    screened["heights"].astype(np.float32),
                )
            )
            self._stored["screened"] = len(screened["holes"])

    def store(self) -> None:
        """Store what was computed about single spots, if there is news and a folder."""
        with self.cache.lock:
            screened = self.screening.known
            if self._is_news("screened", len(screened.holes)):
                self.cache.store_arrays(self._screening_name, dict(screened._asdict()))
            if self._is_news("rows", len(self._rows)):
                rows: Arrays = {"codes": self._rows.codes, "rows": self._rows.rows}
                self.cache.store_arrays(self._rows_name, rows)

    def _is_news(self, name: str, count: int) -> bool:
        """Tell whether so many were not stored yet, and note that they now are."""
        before = self._stored.get(name, 0)
        self._stored[name] = count
        return count != before

    @property
    def _rows_name(self) -> str:
        return f"sensitivities-{_SENSITIVITIES_VERSION}-{self._fingerprint}"

    @property
    def _screening_name(self) -> str:
        return f"screening-{self._fingerprint}"

    @cached_property
    def _fingerprint(self) -> str:
        return find_fingerprint(self.geometry, self.layout, temperature_c=self.temperature_c)
