"""Entry point of the child process: one clip, block by block, to samples and a report.

The samples, of one channel, go to standard output as little-endian float32, then the report: JSON
padded with blanks to `REPORT_BYTES`.
"""

from __future__ import annotations

import contextlib
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from analysis.decoder.clips import Clip, ClipRejected
from analysis.sandbox.faults import describe_fault
from analysis.sandbox.limits import limit_resources

REPORT_BYTES = 512
FAULT_CHARACTERS = 200  # quotes are escaped in the report and take twice as much
SILENT_CHANNEL_SHARE = 1e-4
PADDING_S = 1  # what encoders add to a clip that is as long as it may be
RATES = range(8_000, 192_001)
FFMPEG_KINDS = frozenset({"m4a", "aac", "webm"})


@dataclass(frozen=True, slots=True)
class Bounds:
    """The most that a clip may hold."""

    seconds: int
    frames: int
    channels: int


@dataclass(frozen=True, slots=True)
class Library:
    """How a library opens a clip of one kind, and what it raises on damage."""

    open_clip: Callable[[BinaryIO, str], Clip]
    damage_errors: tuple[type[Exception], ...]


def main(arguments: list[str]) -> None:
    """Load what reads the kind that is expected, wait for a clip, and decode it.

    The clip comes as one line of JSON on standard input: path, kind, most seconds, frames,
    channels. If that ends without a line, no clip will come.
    """
    (expected_kind,) = arguments
    with contextlib.suppress(ImportError, OSError):  # said when it is known to be needed
        load_library(expected_kind)
    line = sys.stdin.buffer.readline()
    if line.endswith(b"\n"):
        path, kind, *bounds = json.loads(line)
        _run(Path(path), kind, Bounds(*bounds))


def _run(path: Path, kind: str, bounds: Bounds) -> None:
    output = sys.stdout.buffer
    try:
        library = load_library(kind)
    except (ImportError, OSError):  # the package, or the shared library it brings
        report: dict[str, Any] = {"refused": "missing", "figure": 0}
    else:
        limit_resources(4 * bounds.frames + REPORT_BYTES)
        with path.open("rb") as stream:
            report = decode(stream, kind, output, library=library, bounds=bounds)
    output.write(json.dumps(report).encode("ascii").ljust(REPORT_BYTES))
    output.flush()


def load_library(kind: str) -> Library:
    """Load what reads this kind; to be done before memory is limited.

    Only the library that is needed is imported: loading takes most of the child's time.
    """
    if kind in FFMPEG_KINDS:
        from analysis.decoder import ffmpeg

        return Library(ffmpeg.FfmpegClip, ffmpeg.DAMAGE_ERRORS)
    from analysis.decoder import sndfile

    # libsndfile finds out the kind itself
    return Library(lambda stream, _: sndfile.SndfileClip(stream), sndfile.DAMAGE_ERRORS)


def decode(
    stream: BinaryIO, kind: str, output: BinaryIO, *, library: Library, bounds: Bounds
) -> dict[str, Any]:
    """Write one channel of the clip in `stream` to `output` and return the report."""
    try:
        return _decode(library.open_clip(stream, kind), output, bounds)
    except ClipRejected as refusal:
        return {"refused": refusal.args[0], "figure": refusal.args[1]}
    except MemoryError:
        return {"refused": "limit", "figure": 0}
    except library.damage_errors:
        return {"refused": "unreadable", "figure": 0}
    except Exception as error:
        # a fault of ours or of a library's interface, which says nothing about the clip
        return {
            "refused": "fault",
            "figure": 0,
            "place": describe_fault(error, most_characters=FAULT_CHARACTERS),
        }


def _decode(clip: Clip, output: BinaryIO, bounds: Bounds) -> dict[str, Any]:
    if clip.channels > bounds.channels:
        raise ClipRejected("channels", clip.channels)
    if clip.rate not in RATES:
        raise ClipRejected("rate", clip.rate)
    most = min((bounds.seconds + PADDING_S) * clip.rate, bounds.frames)
    if clip.claimed > most:
        raise ClipRejected("long", clip.claimed / clip.rate)
    decoded, energies = _write_channel(clip, output, 0, most)
    loudest = max(range(len(energies)), key=energies.__getitem__)
    if energies[0] < SILENT_CHANNEL_SHARE * energies[loudest]:
        output.seek(0)
        output.truncate()
        decoded, _ = _write_channel(clip, output, loudest, most)
    if decoded == 0:
        raise ClipRejected("empty", 0)
    return {
        "rate": clip.rate,
        "frames": decoded,
        "channels": clip.channels,
        "format": clip.kind,
        "truncated": clip.is_truncated(decoded),
    }


def _write_channel(
    clip: Clip, output: BinaryIO, channel: int, most: int
) -> tuple[int, list[float]]:
    """Write one channel; return its length and the energy of each channel."""
    decoded = 0
    energies = [0.0] * clip.channels
    for block in clip.read_blocks():
        decoded += len(block)
        if decoded > most:
            raise ClipRejected("long", decoded / clip.rate)
        energies = [
            total + float(energy)
            for total, energy in zip(energies, (block.astype("f8") ** 2).sum(axis=0), strict=True)
        ]
        output.write(block[:, channel].astype("<f4").tobytes())
    return decoded, energies
