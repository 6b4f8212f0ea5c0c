"""Damaged clips by the thousand: made from seeds and decoded in one long-lived process.

Run as `python -m tests.analysis.decoder.mutants KIND FIRST LAST PROGRESS`: it decodes the mutants
FIRST to LAST of a kind as the child process does, writes the number of the one in work into the
file PROGRESS, and prints how each came out as JSON. If it dies, PROGRESS tells of which mutant.
"""

from __future__ import annotations

import io
import json
import sys
from collections import Counter
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from analysis.decoder.child import Bounds, decode, load_library
from analysis.sandbox.limits import limit_resources
from tests.analysis.recording.clips import encode, make_tone

RATE = 16_000
HEAD_BYTES = 160  # where headers lie
BOUNDS = Bounds(600, 60_000_000, 8)
CPU_S = 120
EXTREMES = (b"\x00" * 4, b"\xff" * 4, b"\x7f\xff\xff\xff", b"\x80\x00\x00\x00", b"\xff\xff\xff\x7f")

Mutation = Callable[[bytearray, np.random.Generator], None]


def make_original(kind: str) -> bytes:
    """A short clip: most of it is structure rather than sound."""
    return encode(make_tone(440.0, 0.15, RATE), kind, RATE)


def make_mutant(original: bytes, kind: str, number: int) -> bytes:
    """The mutant of this number: one to three mutations of different kinds."""
    rng = np.random.default_rng([number, *kind.encode()])
    content = bytearray(original)
    is_mended = number % 2 == 1 and kind in MENDERS
    choices = GENTLE if is_mended else MUTATIONS
    for choice in rng.integers(len(choices), size=rng.integers(1, 4)):
        choices[choice](content, rng)
    if is_mended:  # else hardly a mutant would come past the checksums
        MENDERS[kind](content)
    return bytes(content)


def change_head(content: bytearray, rng: np.random.Generator) -> None:
    for at in rng.integers(min(len(content), HEAD_BYTES), size=rng.integers(1, 6)):
        content[at] = rng.integers(256)


def change_anywhere(content: bytearray, rng: np.random.Generator) -> None:
    for at in rng.integers(len(content), size=rng.integers(1, 20)):
        content[at] = rng.integers(256)


def change_tail(content: bytearray, rng: np.random.Generator) -> None:
    """The index of an MP4 lies at its end."""
    first = max(0, len(content) - 700)
    for at in rng.integers(first, len(content), size=rng.integers(1, 6)):
        content[at] = rng.integers(256)


def flip_bit(content: bytearray, rng: np.random.Generator) -> None:
    content[rng.integers(len(content))] ^= 1 << rng.integers(8)


def write_extreme(content: bytearray, rng: np.random.Generator) -> None:
    at = rng.integers(max(1, len(content) - 4))
    content[at : at + 4] = EXTREMES[rng.integers(len(EXTREMES))]


def cut_off(content: bytearray, rng: np.random.Generator) -> None:
    del content[max(12, int(rng.integers(len(content)))) :]


def leave_out(content: bytearray, rng: np.random.Generator) -> None:
    at = rng.integers(len(content))
    if len(content) > 100:
        del content[at : at + rng.integers(1, 64)]


def repeat(content: bytearray, rng: np.random.Generator) -> None:
    at = rng.integers(len(content))
    content[at:at] = content[at : at + rng.integers(1, 400)]


MUTATIONS: tuple[Mutation, ...] = (
    change_head,
    change_anywhere,
    change_tail,
    flip_bit,
    write_extreme,
    cut_off,
    leave_out,
    repeat,
)


GENTLE: tuple[Mutation, ...] = (flip_bit, write_extreme)


def mend_ogg(content: bytearray) -> None:
    """Make the checksums of all pages right again (RFC 3533, section 6)."""
    starts = [at for at in range(len(content) - 27) if content[at : at + 4] == b"OggS"]
    for at, end in pairwise([*starts, len(content)]):
        content[at + 22 : at + 26] = bytes(4)
        checksum = find_checksum(content[at:end], bits=32, polynomial=0x04C11DB7)
        content[at + 22 : at + 26] = checksum.to_bytes(4, "little")


def mend_flac(content: bytearray) -> None:
    """Make the checksum of the one frame right again (RFC 9639, section 9.3)."""
    at = content.find(b"\xff\xf8", 42)
    if at >= 0:
        content[-2:] = find_checksum(content[at:-2], bits=16, polynomial=0x8005).to_bytes(2, "big")


def find_checksum(content: bytearray, *, bits: int, polynomial: int) -> int:
    """The plain cyclic redundancy check: most significant bit first, starting from 0."""
    table, value = _make_table(bits, polynomial), 0
    for byte in content:
        value = (value << 8 & (1 << bits) - 1) ^ table[value >> (bits - 8) ^ byte]
    return value


@cache
def _make_table(bits: int, polynomial: int) -> tuple[int, ...]:
    table = []
    for byte in range(256):
        value = byte << (bits - 8)
        for _ in range(8):
            value = (value << 1) ^ (polynomial if value >> (bits - 1) & 1 else 0)
        table.append(value & (1 << bits) - 1)
    return tuple(table)


MENDERS = {"ogg": mend_ogg, "opus": mend_ogg, "flac": mend_flac}


def main(kind: str, first: int, last: int, progress: Path) -> None:
    """Decode the mutants and print how they came out."""
    original, family = make_original(kind), family_of(kind)
    library = load_library(family)
    limit_resources(4 * BOUNDS.frames, CPU_S)
    outcomes: Counter[str] = Counter()
    for number in range(first, last):
        progress.write_text(str(number))
        stream = io.BytesIO(make_mutant(original, kind, number))
        report = decode(stream, family, io.BytesIO(), library=library, bounds=BOUNDS)
        outcomes[str(report.get("refused", "accepted"))] += 1
    sys.stdout.write(json.dumps(outcomes))


def family_of(kind: str) -> str:
    """The clip format of a kind of test file."""
    return {"alac": "m4a", "opus": "ogg"}.get(kind, kind)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4]))
