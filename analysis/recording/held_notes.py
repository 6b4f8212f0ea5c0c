"""Note segmentation: runs of coarse frames in which one note is held.

Two frames belong to one note when their pitches lie within 40 cents. In a wide vibrato frames fall
above and below by turns, further apart than that; so two notes whose frames alternate are one, up
to a semitone. Slurred notes follow each other and never alternate so. The longest note is then
tracked by its peaks (`peak_tracking`), unless it is low or its frames hardly differ.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse_pitch import FRAME_S, CoarseFrames, CoarsePitches, Floats
from analysis.recording.order_tracking import PitchProfile
from analysis.recording.peak_tracking import LEAST_HZ, track_strongest_partial

MIN_CLARITY = 0.3
MAX_STEP_CENTS = 40.0  # from one frame to the next, 93 ms on: beyond it a new note starts
MAX_VIBRATO_CENTS = 100.0  # from one side to the other
CALM_CENTS = 2.0
LEAST_TURNS = 3  # there, back, and there again


@dataclass(frozen=True, slots=True)
class HeldNote:
    """One held note: times (n,) in seconds from the middle of its first frame to that of its last,
    the pitch (n,) in Hz at these times, and the power (m,) of its coarse frames."""

    times_s: Floats
    f0_hz: Floats
    power: Floats

    @property
    def from_s(self) -> float:
        """Where the first frame starts."""
        return float(self.times_s[0]) - FRAME_S / 2

    @property
    def to_s(self) -> float:
        """Where the last frame ends."""
        return float(self.times_s[-1]) + FRAME_S / 2

    @property
    def median_hz(self) -> float:
        """The middle pitch."""
        return float(np.median(self.f0_hz))

    @property
    def level(self) -> float:
        """Mean power of its frames."""
        return float(self.power.mean())


def find_held_notes(frames: CoarseFrames, pitches: CoarsePitches) -> tuple[HeldNote, ...]:
    """Held notes, longest first and known best; one odd frame inside a note does not end it."""
    f0_hz = np.where(pitches.clarity >= MIN_CLARITY, pitches.f0_hz, np.nan)
    labels = _join_alternating(_label_notes(f0_hz), f0_hz)
    power = frames.power.sum(axis=1)
    held_notes = []
    for label in range(labels.max(initial=-1) + 1):
        inside = labels == label
        held_notes.append(HeldNote(frames.centres_s[inside], f0_hz[inside], power[inside]))
    held_notes = sorted(
        (held_note for held_note in held_notes if held_note.times_s.size),
        key=lambda held_note: -len(held_note.times_s),
    )
    return (_refine_by_peaks(frames, held_notes[0]), *held_notes[1:]) if held_notes else ()


def _refine_by_peaks(frames: CoarseFrames, held_note: HeldNote) -> HeldNote:
    if held_note.median_hz < LEAST_HZ or len(held_note.times_s) < 2 or _is_calm(held_note.f0_hz):
        return held_note
    rough = PitchProfile(held_note.times_s, held_note.f0_hz)
    profile = track_strongest_partial(frames.samples, frames.sample_rate_hz, rough)
    return HeldNote(profile.times_s, profile.f0_hz, held_note.power)


def _is_calm(f0_hz: Floats) -> bool:
    """Whether most frames lie between their neighbours; in a vibrato they lie above or below."""
    cents = 1200 * np.log2(f0_hz)
    return bool(np.median(np.abs(np.diff(cents, 2))) < CALM_CENTS) if len(cents) > 2 else False


def _label_notes(f0_hz: Floats) -> NDArray[np.intp]:
    """The number of the note each frame belongs to, -1 for none."""
    labels = np.full(len(f0_hz), -1, dtype=np.intp)
    newest = -1
    for at in range(len(f0_hz)):
        if np.isnan(f0_hz[at]):
            continue
        # the frame before, or the one before that when the frame between belongs to neither
        for before in (at - 1, at - 2):
            if before >= 0 and labels[before] >= 0 and _is_same(f0_hz[before], f0_hz[at]):
                labels[at] = labels[before]
                break
        else:
            newest += 1
            labels[at] = newest
    return labels


def _join_alternating(labels: NDArray[np.intp], f0_hz: Floats) -> NDArray[np.intp]:
    """Labels with notes made one whose frames lie between each other's."""
    joined = labels.copy()
    for label in range(1, labels.max(initial=-1) + 1):
        at = np.flatnonzero(joined == label)
        if not at.size:
            continue
        for other in np.setdiff1d(joined[at[0] : at[-1]], (-1, label)):
            if _do_alternate(joined, f0_hz, int(other), label):
                joined[joined == label] = other
                break
    return joined


def _do_alternate(labels: NDArray[np.intp], f0_hz: Floats, one: int, other: int) -> bool:
    of_both = labels[(labels == one) | (labels == other)]
    apart = np.log2(np.median(f0_hz[labels == one]) / np.median(f0_hz[labels == other]))
    is_near = abs(1200 * apart) <= MAX_VIBRATO_CENTS
    return bool(is_near and np.count_nonzero(np.diff(of_both)) >= LEAST_TURNS)


def _is_same(one_hz: float, other_hz: float) -> bool:
    return bool(abs(1200 * np.log2(one_hz / other_hz)) <= MAX_STEP_CENTS)
