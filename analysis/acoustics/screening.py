"""Resonances of every hole state of a layout at once, by meeting in the middle.

The tube is cut at one hole. For every state of the holes above the cut there
is one matrix, for every state below it one pair of pressure and flow, on a grid of
frequencies that all fingerings share. The sign of the imaginary part of the input admittance is
that of a product of four numbers from above with four from below, so all fingerings are one
matrix product per frequency. That product has no poles; its upward zeros are placed by the
polynomial through six grid points.

Source of the cut: common practice with chains of matrices; the four-number form follows from
Im(U p*) = Im((C q + D V)(A q + B V)*) for a matrix A, B, C, D above and pressure q, flow V below.
"""

from __future__ import annotations

import hashlib
import mmap
import struct
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np

from analysis.acoustics.air import CALIBRATION_TEMPERATURE_C, find_air
from analysis.acoustics.errors import OutdatedScreening
from analysis.acoustics.geometry import Geometry
from analysis.acoustics.linkage import Bits, HoleSets, Linkage
from analysis.acoustics.resonances import RESONANCE_COUNT
from analysis.acoustics.split_tube import Places, Single, SplitTube
from analysis.acoustics.tube_model import TubeModel
from analysis.keywork import Layout

# Changes whenever the same figures would give other results.
METHOD_VERSION = "2"
# A stored screening: fingerprint (SHA-256 in hexadecimal), number of hole states, checksum; then
# hole sets, key sets, cents and heights, each by its type and its numbers per hole state.
_HEADER = struct.Struct("<64sQQ")
_COLUMNS = (("<u8", 1), ("<u8", 1), ("<f4", RESONANCE_COUNT), ("<f4", RESONANCE_COUNT))
Buffer = bytes | mmap.mmap


@dataclass(frozen=True)
class Screening:
    """Where every hole state that hands can reach can sound.

    Attributes:
        hole_sets: the hole states, rising, and the simplest key set for each (see `linkage`).
        written_cents: shape (n, 5), treble notation; not-a-number for no such resonance.
        heights: shape (n, 5), impedance over the characteristic impedance of the bore's top.
        fingerprint: what all this depends on.
        mapped: the file that the arrays are views of, if one is mapped into memory.
    """

    hole_sets: HoleSets
    written_cents: Single
    heights: Single
    fingerprint: str
    mapped: mmap.mmap | None = field(default=None, repr=False, compare=False)

    def give_back(self) -> None:
        """Let go of the mapped pages that were looked at; they are read again when needed.

        Nothing happens where the arrays are in memory, or the system can't be told so.
        """
        if self.mapped is not None and hasattr(mmap, "MADV_DONTNEED"):
            self.mapped.madvise(mmap.MADV_DONTNEED)

    def find_places(self, holes: Bits) -> Places:
        """Find the places of hole sets, shape (n,); -1 for those that hands can't reach."""
        return self.hole_sets.find(holes)

    def to_bytes(self) -> bytes:
        """Write everything as one block; the same bytes for the same screening.

        Fingerprint, number of hole states and checksum (CRC-32), then the arrays one after the
        other, little-endian: made to be mapped into memory as it lies.
        """
        columns = (self.hole_sets.holes, self.hole_sets.keys, self.written_cents, self.heights)
        body = b"".join(
            np.ascontiguousarray(column, dtype=dtype).tobytes()
            for column, (dtype, _) in zip(columns, _COLUMNS, strict=True)
        )
        count = len(self.hole_sets.holes)
        return _HEADER.pack(self.fingerprint.encode("ascii"), count, zlib.crc32(body)) + body

    @classmethod
    def from_bytes(cls, stored: Buffer, *, fingerprint: str) -> Screening:
        """Read a stored screening; its arrays are views of the buffer and can't be written to.

        Args:
            stored: what `to_bytes` made, or a file of it mapped into memory: then only those
                parts are read that are looked up.
            fingerprint: what `find_fingerprint` says today.

        Raises:
            OutdatedScreening: it belongs to other figures, or is damaged.
        """
        view = memoryview(stored)
        if len(view) < _HEADER.size:
            raise OutdatedScreening
        of, count, checksum = _HEADER.unpack_from(view)
        sizes = [count * width * np.dtype(dtype).itemsize for dtype, width in _COLUMNS]
        if of != fingerprint.encode("ascii") or len(view) != _HEADER.size + sum(sizes):
            raise OutdatedScreening
        if zlib.crc32(view[_HEADER.size :]) != checksum:
            raise OutdatedScreening
        starts = np.cumsum([_HEADER.size, *sizes[:-1]])
        holes, keys, cents, heights = (
            np.frombuffer(view, dtype, count * width, int(start))
            for (dtype, width), start in zip(_COLUMNS, starts, strict=True)
        )
        shape = (count, RESONANCE_COUNT)
        mapped = stored if isinstance(stored, mmap.mmap) else None
        read = cls(
            HoleSets(holes, keys), cents.reshape(shape), heights.reshape(shape), of.decode(), mapped
        )
        read.give_back()
        return read


def find_fingerprint(
    geometry: Geometry,
    layout: Layout,
    *,
    temperature_c: float = CALIBRATION_TEMPERATURE_C,
    shaded_key_ids: Iterable[str] = (),
) -> str:
    """Digest everything that a screening depends on: figures, keywork, air, method."""
    keys = tuple((key.id, layout.reach(key), key.states) for key in layout.keys)
    pairs = sorted(sorted(pair) for pair in layout.together)
    parts = (
        METHOD_VERSION,
        geometry.fingerprint,
        (layout.id, layout.version, keys, layout.holes, pairs),
        temperature_c,
        tuple(shaded_key_ids),
    )
    return hashlib.sha256(repr(parts).encode()).hexdigest()


def screen(
    geometry: Geometry,
    layout: Layout,
    *,
    temperature_c: float = CALIBRATION_TEMPERATURE_C,
    shaded_key_ids: Iterable[str] = (),
    progress: Callable[[float], None] | None = None,
) -> Screening:
    """Find the resonances of every hole state that hands can reach on a layout.

    Args:
        geometry: the tube; its layout must be `layout`.
        layout: the keywork.
        temperature_c: of the air inside, 0 to 45.
        shaded_key_ids: keys that may also shade their hole.
        progress: is called with the share done, rising from 0 to 1.

    Returns:
        A `Screening`, the same for the same arguments. Against the exact zeros its cents are
        right to a few hundredths.

    Raises:
        TemperatureOutOfRange: for air that the formulas do not cover.
    """
    report = progress or _ignore
    report(0.0)
    shaded = tuple(shaded_key_ids)
    hole_sets = Linkage(layout).enumerate_hole_sets(shaded_key_ids=shaded)
    split_tube = SplitTube.cut(TubeModel(geometry, find_air(temperature_c)), hole_sets.holes)
    cents = np.full((len(hole_sets.holes), RESONANCE_COUNT), np.nan, dtype=np.float32)
    heights = np.full_like(cents, np.nan)
    for places, found in split_tube.solve(report):
        cents[places] = found.cents - geometry.treble_transposition_cents
        heights[places] = found.heights
    fingerprint = find_fingerprint(
        geometry, layout, temperature_c=temperature_c, shaded_key_ids=shaded
    )
    return Screening(hole_sets, cents, heights, fingerprint)


def _ignore(share: float) -> None:
    pass
