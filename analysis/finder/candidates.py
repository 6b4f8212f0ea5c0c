"""Neighbourhood search: fingerings within a few keys of the starting points, for one target.

Starting points are the ordinary fingerings and what the player brings, up to three quarter tones
away; where hardly any lies there, as above the highest ordinary note, the nearest from farther
away. Keys of a register vent stay as they are at the start: with them the register changes. Each
hole state is reached once, from the start that needs the fewest changes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from analysis.finder.inputs import NO_WISHES, Start, Wishes
from analysis.finder.spots import Bits, Numbers, Real, Spots
from analysis.finder.strategies import THREE_QUARTER_TONES_REACH_CENTS
from analysis.finder.tube import PREPARED_CENTS, Tube
from analysis.keywork import Layout, fingerings_to_try, ordinary_fingerings
from analysis.pitch import KINDS, WrittenPitch

# More starting points are cut, the furthest first.
_MOST_STARTS = 32
# Where fewer lie within three quarter tones, so many of the nearest count, up to an octave away.
_FEWEST_NEAR = 3
_FAR_STARTS = 8
_FARTHEST_CENTS = 1200.0
# From a start of the player's own so many keys may change: it is a few keys from an ordinary one
# already.
_MOST_OWN_CHANGES = 2
# So many candidates are looked at for each number of changes, the nearest as far as one can guess:
# however many there are with more changes, the simple ones stay.
_MOST_CANDIDATES = {1: 100, 2: 120, 3: 120, 4: 80}
# Candidates further from the target than this by such a guess are not looked at.
_WINDOW_CENTS = 60.0
# The tube alone may be further off than that.
_TUBE_WINDOW_CENTS = 130.0
_SHADED_HALF = np.uint64(32)
# Of the progress of preparing, the part around the ordinary fingerings.
_ORDINARY_SHARE = 0.8
_STARTS_AT_ONCE = 50


@dataclass(frozen=True)
class Candidates:
    """Fingerings as key sets with their spots, the place of each one's start, and its changes.

    `base_cents` is where the tube puts the start of each, on the same resonance.
    """

    starts: tuple[Start, ...]
    keys: Bits
    spots: Spots
    start_places: Numbers
    change_counts: Numbers
    base_cents: Real


def list_ordinary_starts(kind_id: str, layout: Layout) -> tuple[Start, ...]:
    """List the ordinary fingerings of a layout as starting points, in the notation of the kind.

    Above them follow those to try, so that a note up there has something to start from.
    """
    kind = KINDS[kind_id]
    return tuple(
        Start(
            kind.from_treble_notation(one.written),
            one.fingering,
            "to try" if one.is_to_try else "ordinary",
        )
        for one in (*ordinary_fingerings(layout), *fingerings_to_try(layout))
    )


def choose_starts(tube: Tube, starts: Sequence[Start], target: WrittenPitch) -> tuple[Start, ...]:
    """Choose the starting points within three quarter tones, the nearest first.

    Where there are hardly any, as above the highest note that has a fingering, the nearest
    count. The ordinary fingerings are always among those to choose from, but for the notes that the
    player plays otherwise; of starts with the same keys for the same note the first is kept.
    """
    own = {start.written.cents for start in starts if start.is_own_ordinary}
    listed = list_ordinary_starts(tube.kind_id, tube.layout)
    every = (*starts, *(start for start in listed if start.written.cents not in own))
    different = {(start.fingering, start.written): start for start in reversed(every)}
    nearest = sorted(
        different.values(),
        key=lambda start: (abs(_distance(start, target)), start.label, start.written.cents),
    )
    reach = THREE_QUARTER_TONES_REACH_CENTS
    near = sum(abs(_distance(start, target)) < reach for start in nearest)
    if near >= _FEWEST_NEAR:
        return tuple(nearest[: min(near, _MOST_STARTS)])
    wide = sum(abs(_distance(start, target)) <= _FARTHEST_CENTS for start in nearest)
    return tuple(nearest[: min(wide, _FAR_STARTS)])


def prepare(tube: Tube, starts: Sequence[Start] = ()) -> None:
    """Compute beforehand what suggestions will ask for; they are quick from then on.

    What lies around the ordinary fingerings takes some seconds once and is stored if the cache
    has a folder; each start of the player's own adds a few milliseconds, the first time only.

    Args:
        tube: the tube; its cache reports progress.
        starts: fingerings that work, as given to `suggest`.
    """
    report = tube.cache.progress or (lambda share: None)
    done = 0.0
    if not tube.prepared:
        tube.prepare(lambda share: report(_ORDINARY_SHARE * share))
        tube.prepared.add("ordinary")
        done = _ORDINARY_SHARE
    fresh = [start for start in starts if _is_new(tube, start)]
    for first in range(0, len(fresh), _STARTS_AT_ONCE):
        some = fresh[first : first + _STARTS_AT_ONCE]
        tube.find_rows(_join([_find_near_start(tube, start) for start in some]))
        report(done + (1.0 - done) * min(1.0, (first + len(some)) / len(fresh)))
    if len(fresh) > _STARTS_AT_ONCE:
        tube.store()


def _is_new(tube: Tube, start: Start) -> bool:
    """Tell whether nothing was prepared around a start yet, and note that it now is."""
    name = (tube.linkage.encode(start.fingering), start.written, start.offset_cents)
    is_new = name not in tube.prepared
    tube.prepared.add(name)
    return is_new


def _find_near_start(tube: Tube, start: Start) -> Spots:
    around = _walk(tube, start, NO_WISHES)
    wanted = float(start.written.cents) + (start.offset_cents or 0.0) + tube.treble_shift_cents
    near = np.abs(around.spots.cents - wanted) <= PREPARED_CENTS
    return around.spots.select(near)


def _distance(start: Start, target: WrittenPitch) -> float:
    """How far the target lies above where a start really sounds."""
    return float(target.cents - start.written.cents) - (start.offset_cents or 0.0)


class _Around(NamedTuple):
    """What lies within reach of one start: keys, spots, changes."""

    keys: Bits
    spots: Spots
    changes: Numbers


def find_candidates(
    tube: Tube,
    target: WrittenPitch,
    starts: tuple[Start, ...],
    wishes: Wishes,
    guess: Callable[[Spots], Real],
) -> Candidates:
    """Find what could give a target.

    Args:
        tube: the tube.
        target: in the notation of the kind.
        starts: from `choose_starts`.
        wishes: what to respect.
        guess: says where spots, n of them, are thought to sound: written cents in treble
            notation, shape (n,).
    """
    wanted = float(target.cents) + tube.treble_shift_cents
    found = [_walk(tube, start, wishes) for start in starts]
    picked = [_pick(around, _find_near(around, wanted)) for around in found]
    if not picked:
        empty = Spots(np.zeros(0, np.uint64), np.zeros(0, np.int64), np.zeros(0))
        none = np.zeros(0, dtype=np.int64)
        return Candidates(starts, np.zeros(0, np.uint64), empty, none, none, np.zeros(0))
    keys = np.concatenate([around.keys for around in picked])
    spots = _join([around.spots for around in picked])
    changes = np.concatenate([around.changes for around in picked])
    places = np.repeat(np.arange(len(picked)), [len(around.keys) for around in picked])
    codes = spots.codes
    order = np.lexsort((keys, np.bitwise_count(keys), places, changes, codes))
    names = codes[order]
    is_first = np.ones(len(order), dtype=bool)
    is_first[1:] = names[1:] != names[:-1]
    kept = order[is_first]
    kept = kept[_find_nearest(np.abs(guess(spots.select(kept)) - wanted), changes[kept])]
    encoded = np.array([tube.linkage.encode(one.fingering) for one in starts], dtype=np.uint64)
    bases = tube.linkage.find_holes(encoded)[places[kept]]
    base_cents = tube.locate(bases, spots.numbers[kept]).cents
    return Candidates(
        starts, keys[kept], spots.select(kept), places[kept], changes[kept], base_cents
    )


def _find_near(around: _Around, wanted: float) -> Numbers:
    return np.flatnonzero(np.abs(around.spots.cents - wanted) <= _TUBE_WINDOW_CENTS)


def _find_nearest(apart: Real, changes: Numbers) -> Numbers:
    """Find the nearest candidates of each number of changes; both of shape (n,)."""
    kept = [np.zeros(0, dtype=np.int64)]
    for count, most in _MOST_CANDIDATES.items():
        places = np.flatnonzero((changes == count) & (apart <= _WINDOW_CENTS))
        kept.append(places[np.argsort(apart[places], kind="stable")[:most]])
    return np.sort(np.concatenate(kept))


def _pick(around: _Around, places: Numbers) -> _Around:
    return _Around(around.keys[places], around.spots.select(places), around.changes[places])


def _join(several: Sequence[Spots]) -> Spots:
    return Spots(
        np.concatenate([spots.holes for spots in several]),
        np.concatenate([spots.numbers for spots in several]),
        np.concatenate([spots.cents for spots in several]),
    )


def _walk(tube: Tube, start: Start, wishes: Wishes) -> _Around:
    """Find all that lies within reach of a start; kept in memory, the wishes about keys apart."""
    base = tube.linkage.encode(start.fingering)
    treble = float(start.written.cents) + (start.offset_cents or 0.0) + tube.treble_shift_cents
    holes = tube.linkage.find_holes(np.array([base], dtype=np.uint64))
    number = int(tube.find_nearest(holes, np.array([treble])).numbers[0])
    ordinary = {one.fingering for one in ordinary_fingerings(tube.layout)}
    is_own = start.fingering not in ordinary
    most = min(wishes.most_changes, _MOST_OWN_CHANGES) if is_own else wishes.most_changes
    name = f"around-{tube.serial}-{base}-{number}-{most}-{wishes.has_half_holes}"
    made = tube.cache.recall(
        name, lambda: _look_around(tube, base, number, most, has_half_holes=wishes.has_half_holes)
    )
    assert isinstance(made, _Around)
    return _pick(made, np.flatnonzero(_respects(tube, made.keys, wishes)))


def _look_around(
    tube: Tube, base: int, number: int, most_changes: int, *, has_half_holes: bool
) -> _Around:
    keys = tube.linkage.find_within(base, most_changes)
    vents = _mask(tube, [key.id for key in tube.vent_keys])
    keys = keys[(keys & vents) == (np.uint64(base) & vents)]
    if has_half_holes:
        keys = np.concatenate([keys, _shade(tube, keys)])
    changes = _count_changes(keys, base)
    keys = keys[(changes >= 1) & (changes <= most_changes)]
    holes = tube.linkage.find_holes(keys)
    spots = tube.locate(holes, np.full(len(holes), number))
    known = np.flatnonzero(np.isfinite(spots.cents))
    made = _Around(keys, spots, _count_changes(keys, base))
    return _pick(made, known)


def _shade(tube: Tube, keys: Bits) -> Bits:
    """Make the key sets in which a finger shades the hole that it covers."""
    made = [np.zeros(0, dtype=np.uint64)]
    for key in tube.shading_keys:
        bit = np.uint64(1) << np.uint64(tube.layout.index(key.id))
        covering = keys[(keys & bit) != 0]
        made.append((covering ^ bit) | (bit << _SHADED_HALF))
    return np.concatenate(made)


def _count_changes(keys: Bits, base: int) -> Numbers:
    differing = keys ^ np.uint64(base)
    changed = (differing | (differing >> _SHADED_HALF)) & np.uint64(2**32 - 1)
    return np.asarray(np.bitwise_count(changed), dtype=np.int64)


def _respects(tube: Tube, keys: Bits, wishes: Wishes) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    pressed = keys | (keys >> _SHADED_HALF)
    free, down = _mask(tube, wishes.must_be_free), _mask(tube, wishes.must_be_down)
    respected = ((pressed & free) == 0) & ((pressed & down) == down)
    if not wishes.has_half_holes:
        respected &= ~tube.linkage.has_half_hole(keys)
    return np.asarray(respected)


def _mask(tube: Tube, key_ids: Sequence[str] | frozenset[str]) -> np.uint64:
    return np.uint64(sum(1 << tube.layout.index(key_id) for key_id in key_ids))
