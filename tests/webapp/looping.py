"""Recorded loops for tests: a slur back and forth between two fingerings, made by formula."""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO

from analysis.pitch import Tuning, WrittenPitch
from tests.analysis.performance.loops import RATE, Loop, make_loop
from tests.webapp.tones import wav_bytes
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.loops.loops import LoopNote, keep_loop
from webapp.notebook.store.notebook import Notebook

E5_KEYS, F5_KEYS = "T R 123 | 12-", "T R 123 | 1--"
ENDS = (("E5", E5_KEYS), ("F5", F5_KEYS))
"""A change of one finger on a soprano; both notes as written."""
Ends = tuple[tuple[str, str], tuple[str, str]]


@lru_cache(maxsize=16)
def loop_wav(
    lower_hz: float, cents: float, up_s: float = 0.02, down_s: float = 0.06, seed: int = 1
) -> bytes:
    """A loop of eight changes with known times."""
    loop = Loop(lower_hz, cents, rate_hz=3.0, count=8, up_s=up_s, down_s=down_s)
    return wav_bytes(make_loop(loop, seed).samples, RATE)


def sound_of(
    notebook: Notebook,
    instrument_id: int,
    ends: Ends = ENDS,
    *,
    up_s: float = 0.02,
    down_s: float = 0.06,
    seed: int = 1,
) -> bytes:
    """A loop of two notes, the lower first, as the instrument sounds them at A = 440."""
    transposition = open_instrument(notebook, instrument_id).transposition
    low, high = (
        transposition.to_sounding(WrittenPitch.from_canonical(note)).hz(Tuning(440.0))
        for note, _ in ends
    )
    cents = WrittenPitch.from_canonical(ends[1][0]).cents
    cents -= WrittenPitch.from_canonical(ends[0][0]).cents
    assert high > low
    return loop_wav(low, float(cents), up_s, down_s, seed)


def record_loop(
    notebook: Notebook,
    instrument_id: int,
    ends: Ends = ENDS,
    *,
    up_s: float = 0.02,
    down_s: float = 0.06,
    seed: int = 1,
    note: LoopNote | None = None,
) -> int:
    """Keep a loop as the page does; return its number."""
    data = sound_of(notebook, instrument_id, ends, up_s=up_s, down_s=down_s, seed=seed)
    return keep_loop(notebook, instrument_id, ends, BytesIO(data), note or LoopNote())[0]
