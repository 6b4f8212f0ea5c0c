"""Runs in a process of its own: decodes one clip block by block within limits.

Started by `decode.py` as a plain script, so it imports nothing of the package. It writes the
samples of one channel as little-endian float32 to standard output, then a report: JSON padded with
blanks to `REPORT_BYTES`. Arguments: file, most seconds, most frames, most channels.
"""

from __future__ import annotations

import contextlib
import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

if TYPE_CHECKING:
    from soundfile import SoundFile

REPORT_BYTES = 512
BLOCK_FRAMES = 65_536
MAX_CPU_S = 20
EXTRA_MEMORY_BYTES = 512 * 1024 * 1024
# libsndfile gives its largest count when a stream does not say how long it is
UNKNOWN_FRAMES = 2**62
SILENT_CHANNEL_SHARE = 1e-4
FORMATS = {
    "WAV": "wav",
    "WAVEX": "wav",
    "RF64": "wav",
    "FLAC": "flac",
    "MP3": "mp3",
    "MPEG": "mp3",
    "OGG": "ogg",
}


class _Refused(Exception):
    """The clip is not accepted; the arguments are the reason's name and a figure."""


class _NamelessFile:
    """A file without a name, so that the decoder can judge by content only."""

    def __init__(self, stream: BinaryIO) -> None:
        self.seek = stream.seek
        self.tell = stream.tell
        self.read = stream.read
        self.readinto = stream.readinto  # type: ignore[attr-defined]  # missing in typeshed's BinaryIO


def main(arguments: list[str]) -> None:
    """Decode the file named by the arguments and report."""
    import numpy  # noqa: F401  # loaded before memory is limited
    import soundfile

    path = arguments[0]
    max_s, max_frames, max_channels = (int(argument) for argument in arguments[1:4])
    _limit_resources(4 * max_frames + REPORT_BYTES)
    output = sys.stdout.buffer
    try:
        with Path(path).open("rb") as stream, soundfile.SoundFile(_NamelessFile(stream)) as clip:
            report = _decode(clip, output, max_s, max_frames, max_channels)
    except _Refused as refusal:
        report = {"refused": refusal.args[0], "figure": refusal.args[1]}
    except MemoryError:
        report = {"refused": "limit", "figure": 0}
    except (soundfile.SoundFileError, RuntimeError, ValueError, OSError, TypeError):
        report = {"refused": "unreadable", "figure": 0}
    output.write(json.dumps(report).encode("ascii").ljust(REPORT_BYTES))
    output.flush()


def _decode(
    clip: SoundFile, output: BinaryIO, max_s: int, max_frames: int, max_channels: int
) -> dict[str, Any]:
    if clip.format not in FORMATS:
        raise _Refused("format", 0)
    if clip.channels > max_channels:
        raise _Refused("channels", clip.channels)
    rate = clip.samplerate
    if not 8_000 <= rate <= 192_000:
        raise _Refused("rate", rate)
    most = min(max_s * rate, max_frames)
    claimed = clip.frames if clip.frames < UNKNOWN_FRAMES else 0
    if claimed > most:
        raise _Refused("long", claimed / rate)
    decoded, energies = _write_channel(clip, output, 0, most)
    loudest = max(range(len(energies)), key=energies.__getitem__)
    if energies[0] < SILENT_CHANNEL_SHARE * energies[loudest]:
        clip.seek(0)
        output.seek(0)
        output.truncate()
        decoded, _ = _write_channel(clip, output, loudest, most)
    if decoded == 0:
        raise _Refused("empty", 0)
    return {
        "rate": rate,
        "frames": decoded,
        "channels": clip.channels,
        "format": FORMATS[clip.format],
        "truncated": _is_truncated(clip, claimed, decoded),
    }


def _write_channel(
    clip: SoundFile, output: BinaryIO, channel: int, most: int
) -> tuple[int, list[float]]:
    """Write one channel; a clip that breaks off is kept up to there."""
    import soundfile

    decoded = 0
    energies = [0.0] * clip.channels
    while True:
        try:
            block = clip.read(BLOCK_FRAMES, dtype="float32", always_2d=True)
        except soundfile.LibsndfileError:
            if decoded == 0:
                raise
            break
        if not len(block):
            break
        decoded += len(block)
        if decoded > most:
            raise _Refused("long", decoded / clip.samplerate)
        energies = [
            total + float(energy)
            for total, energy in zip(energies, (block.astype("f8") ** 2).sum(axis=0), strict=True)
        ]
        output.write(block[:, channel].astype("<f4").tobytes())
    return decoded, energies


def _is_truncated(clip: SoundFile, claimed: int, decoded: int) -> bool:
    """Whether the header promises more than there is; mp3 and ogg lengths are only estimates."""
    if clip.format == "FLAC":
        return decoded < claimed
    if clip.format not in ("WAV", "WAVEX", "RF64"):
        return False
    # libsndfile corrects the length of a wav by the size of the file and notes it in its log;
    # a recorder that streams writes the greatest or no length, which is no promise
    for line in clip.extra_info.splitlines():
        words = line.split()
        if words[:2] == ["data", ":"] and "should be" in line:
            return words[2] not in ("0", "4294967295", "-1")
    return False


def _limit_resources(max_output_bytes: int) -> None:
    """Processor time, memory and output, where the system knows such limits."""
    try:
        import resource
    except ImportError:  # Windows; the parent's clock still ends a decoder that hangs
        return
    limits = [
        (resource.RLIMIT_CPU, MAX_CPU_S),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, max_output_bytes),
    ]
    held = _find_held_memory()
    if held is not None:
        limits.append((resource.RLIMIT_AS, held + EXTRA_MEMORY_BYTES))
    for name, most in limits:
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(name, (most, most))


def _find_held_memory() -> int | None:
    """Address space in use now, where /proc tells it."""
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    except (OSError, ValueError):
        return None
    return pages * os.sysconf("SC_PAGE_SIZE")


if __name__ == "__main__":
    main(sys.argv[1:])
