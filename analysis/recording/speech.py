"""Speech detection by pitch slides: voice slides from syllable to syllable, notes hold their pitch.

The contour is cut where the voice stops or the pitch leaps, and long stretches into pieces of at
most 0.4 s. A piece slides when its last third lies 40 cents (60 in a long one) from its first and
it is on the move at most times, which slurred steps are not; one of 0.2 s or more that stays within
30 is held; the rest tells nothing. Vibrato averages out within the thirds of a long piece. Speech
is where more time slides than is held, at least three pieces within 2.5 s. That spoken pitch moves
by semitones within a syllable, and lies mostly between 65 and 450 Hz, is common knowledge (from
memory).

A single word is too little for that. A clip of at most 1.4 s of sound is a word when its pitch lies
in the range of voices, is on the move half of the time and goes 80 cents or more.

Limits: a bend of less than 0.7 s under 500 Hz is a word here; a monotone, or a sung vowel, is a
held note here; whispering has no pitch and is noise.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.pitch_contour import HOP_S, Contour

Floats = NDArray[np.floating[Any]]
Bools = NDArray[np.bool_]

VOICE_HZ = (65.0, 500.0)
LEVEL_SHARE = 10 ** (-35 / 20)
LEAP_CENTS = 70.0  # over four rows
MIN_PIECE_S = 0.06
MAX_PIECE_S = 0.4
LONG_PIECE_S = 0.2
SLIDE_CENTS = 40.0
LONG_SLIDE_CENTS = 60.0
HELD_CENTS = 30.0
# over two rows, in the median: a slurred scale moves in steps and stands between
MOVING_CENTS = 4.0
WINDOW_S = 2.5
REACH_S = 0.8
MIN_SLIDES = 3
LONGEST_WORD_S = 1.4
WORD_LEVEL_SHARE = 10 ** (-25 / 20)
WORD_SPAN_CENTS = 80.0
WORD_MOVE_CENTS = 8.0  # over four rows
LONGEST_SYLLABLE_S = 0.7


def is_speech(contour: Contour) -> bool:
    """Whether a recording as a whole is talk: more of it slides than is held."""
    slides, held = _mark_pieces(contour)
    starts = np.count_nonzero(np.diff(slides, prepend=0) > 0)
    sliding, holding = np.count_nonzero(slides), np.count_nonzero(held)
    return bool(starts >= MIN_SLIDES and sliding > holding)


def is_word(contour: Contour) -> bool:
    """Whether a recording holds one word, spoken or hummed, and nothing else."""
    if not contour.level.size:
        return False
    is_loud = contour.level > WORD_LEVEL_SHARE * np.quantile(contour.level, 0.95)
    if np.count_nonzero(is_loud) * HOP_S > LONGEST_WORD_S:
        return False
    # a formant may be mistaken for the pitch for a moment
    is_voice = is_loud & (contour.f0_hz >= VOICE_HZ[0]) & (contour.f0_hz <= VOICE_HZ[1])
    is_voice_at_all = is_loud & np.isfinite(contour.f0_hz)
    voice_rows = np.count_nonzero(is_voice)
    if voice_rows * HOP_S < MIN_PIECE_S or voice_rows < 0.5 * np.count_nonzero(is_voice_at_all):
        return False
    cents = np.where(is_voice, 1200 * np.log2(contour.f0_hz / VOICE_HZ[0]), np.nan)
    low, high = np.nanpercentile(cents, (10, 90))
    moves = np.abs(cents[4:] - cents[:-4])
    moves = moves[np.isfinite(moves)]
    is_moving = moves.size > 0 and np.mean(moves >= WORD_MOVE_CENTS) >= 0.5
    return bool(is_moving and high - low >= WORD_SPAN_CENTS)


def find_speech(contour: Contour) -> Bools:
    """Which rows lie in talk, shape (n,), in a long recording of notes with talk between them."""
    slides, held = _mark_pieces(contour)
    size = round(WINDOW_S / HOP_S)
    begins = (np.diff(slides, prepend=0) > 0).astype(np.float64)
    count, sliding, holding = (
        _sum_around(row, size) for row in (begins, slides > 0, held.astype(np.float64))
    )
    is_talk = (count >= MIN_SLIDES) & (sliding > holding)
    # what lies within a moment of sliding pieces (hiss, short syllables) is talk too
    return np.asarray(_sum_around(is_talk & (slides > 0), round(2 * REACH_S / HOP_S)) > 0)


def _mark_pieces(contour: Contour) -> tuple[NDArray[np.intp], Bools]:
    """Rows of sliding pieces (numbered from 1, 0 elsewhere) and rows of held ones."""
    slides = np.zeros(len(contour.f0_hz), dtype=np.intp)
    held = np.zeros(len(contour.f0_hz), dtype=bool)
    cents = 1200 * np.log2(contour.f0_hz / VOICE_HZ[0])
    for number, (first, last) in enumerate(_cut_pieces(contour, cents), start=1):
        piece = cents[first:last]
        third = max(1, len(piece) // 3)
        slide = abs(float(np.median(piece[-third:]) - np.median(piece[:third])))
        is_long = len(piece) * HOP_S >= LONG_PIECE_S
        within = VOICE_HZ[0] <= float(np.median(contour.f0_hz[first:last])) <= VOICE_HZ[1]
        is_moving = np.median(np.abs(piece[2:] - piece[:-2])) >= MOVING_CENTS
        if within and is_moving and slide >= (LONG_SLIDE_CENTS if is_long else SLIDE_CENTS):
            slides[first:last] = number
        elif is_long and slide < HELD_CENTS:
            held[first:last] = True
    return slides, held


def _cut_pieces(contour: Contour, cents: Floats) -> list[tuple[int, int]]:
    loudest = np.quantile(contour.level, 0.95) if contour.level.size else 0.0
    is_voice = np.isfinite(cents) & (contour.level > LEVEL_SHARE * loudest)
    # a leap shows as a steep step over four rows, some of which may have no pitch
    step = np.abs(cents[4:] - cents[:-4])
    is_voice[2:-2] &= ~(step > LEAP_CENTS)
    pieces = []
    for first, last in find_stretches(is_voice):
        parts = -(-(last - first) // round(MAX_PIECE_S / HOP_S))
        edges = np.linspace(first, last, parts + 1).astype(int)
        pieces += [(int(a), int(b)) for a, b in pairwise(edges)]
    return [(a, b) for a, b in pieces if (b - a) * HOP_S >= MIN_PIECE_S]


def find_stretches(is_on: Bools) -> list[tuple[int, int]]:
    """Start and end (exclusive) of each run of True in an array of shape (n,).

    >>> import numpy as np
    >>> find_stretches(np.array([False, True, True, False, True]))
    [(1, 3), (4, 5)]
    """
    edges = np.diff(np.concatenate(([False], is_on, [False])).astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [(int(a), int(b)) for a, b in zip(starts, ends, strict=True)]


def _sum_around(values: NDArray[Any], size: int) -> Floats:
    """Sum over the `size` rows about each row."""
    total = np.concatenate(([0.0], np.cumsum(values, dtype=np.float64)))
    at = np.arange(len(values))
    return total[np.minimum(at + size // 2, len(values))] - total[np.maximum(at - size // 2, 0)]
