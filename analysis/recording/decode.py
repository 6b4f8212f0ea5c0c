"""Untrusted clips to samples, in a child process with time, processor and memory limits.

Accepted: wav, flac, mp3 and ogg (Vorbis, Opus), judged by content; up to 10 minutes and 60 million
samples a channel (so 5 minutes at 192 kHz), 8 channels, 8 to 192 kHz, 256 MiB. The time limit holds
everywhere; processor and memory limits where the system has them (POSIX, and memory where /proc
says what is in use).

Of several channels the first is measured, as a mix could cancel; if the first is silent (40 dB
below the loudest) the loudest is. A file that breaks off is kept up to there and flagged.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, NoReturn

import numpy as np
from numpy.typing import NDArray

from analysis.recording import _decode_child
from analysis.recording.errors import (
    ClipTooLarge,
    ClipTooLong,
    DecodingTookTooLong,
    EmptyClip,
    UnreadableClip,
    UnsupportedFormat,
)
from analysis.recording.formats import SNIFF_BYTES, ClipFormat, sniff_format
from analysis.recording.measurement import TakeWarning

MAX_CLIP_S = 600
MAX_FRAMES = 60_000_000
MAX_CHANNELS = 8
MAX_CLIP_BYTES = 256 * 1024 * 1024
TIMEOUT_S = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A decoded clip: `samples` of shape (n,), float32, full scale -1 to 1, one channel.

    `channels` is how many the file has. `warnings` belong to the take measured from it.
    """

    samples: NDArray[np.float32]
    sample_rate_hz: float
    clip_format: ClipFormat
    channels: int
    warnings: tuple[TakeWarning, ...] = ()

    @property
    def duration_s(self) -> float:
        """Length of the sound in seconds."""
        return len(self.samples) / self.sample_rate_hz


def decode_clip(path: Path, *, timeout_s: float = TIMEOUT_S) -> Recording:
    """Decode the clip at `path`, however it is named.

    Raises, all `RecordingError`: `EmptyClip`, `UnsupportedFormat`, `UnreadableClip`,
    `ClipTooLong`, `ClipTooLarge`, `DecodingTookTooLong`. A missing file raises OSError: that is
    the caller's fault, not the clip's.
    """
    size = path.stat().st_size
    if size > MAX_CLIP_BYTES:
        raise ClipTooLarge(
            f"This file has {size / 2**20:.0f} MB; a clip may have {MAX_CLIP_BYTES // 2**20} MB."
            " Cut out the note you mean, or save it as flac."
        )
    with path.open("rb") as stream:
        sniff_format(stream.read(SNIFF_BYTES))
    with tempfile.TemporaryFile() as output:
        _run_child(path, output, timeout_s)
        report = _read_report(output)
        if "refused" in report:
            _refuse(report["refused"], float(report["figure"]))
        output.seek(0)
        samples = np.fromfile(output, dtype="<f4", count=int(report["frames"]))
    return Recording(
        samples=samples.astype(np.float32, copy=False),
        sample_rate_hz=float(report["rate"]),
        clip_format=ClipFormat(report["format"]),
        channels=int(report["channels"]),
        warnings=(TakeWarning.TRUNCATED,) if report["truncated"] else (),
    )


def _run_child(path: Path, output: IO[bytes], timeout_s: float) -> None:
    limits = [str(limit) for limit in (MAX_CLIP_S, MAX_FRAMES, MAX_CHANNELS)]
    # -P: nothing is imported from the folder the program happens to run in
    command = [sys.executable, "-P", _decode_child.__file__, str(path.absolute()), *limits]
    try:
        subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.DEVNULL,
            timeout=timeout_s,
            check=False,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except subprocess.TimeoutExpired as error:
        raise _stopped() from error


def _read_report(output: IO[bytes]) -> dict[str, Any]:
    """The child's report; a child that was stopped or crashed has written none."""
    length = output.seek(0, 2)
    if length < _decode_child.REPORT_BYTES:
        raise _stopped()
    output.seek(length - _decode_child.REPORT_BYTES)
    try:
        report = json.loads(output.read())
    except ValueError:
        raise _stopped() from None
    if not isinstance(report, dict):
        raise _stopped()
    return report


def _stopped() -> DecodingTookTooLong:
    return DecodingTookTooLong(
        "This file could not be decoded within the limits of time and memory."
        " Export it again as wav or flac, or record the note again."
    )


def _refuse(reason: str, figure: float) -> NoReturn:
    if reason == "long":
        raise ClipTooLong(
            f"This recording is {figure / 60:.0f} minutes long; a clip may hold"
            f" {MAX_CLIP_S // 60} minutes. Cut out the note you mean."
        )
    if reason == "channels":
        raise ClipTooLarge(
            f"This file has {figure:.0f} channels; at most {MAX_CHANNELS} are read."
            " Save it as mono or stereo."
        )
    if reason == "rate":
        raise ClipTooLarge(
            f"This file has {figure:.0f} samples a second; 8,000 to 192,000 are read."
            " Save it with 44,100 or 48,000."
        )
    if reason == "empty":
        raise EmptyClip("This sound file holds no sound. Choose the recording again.")
    if reason == "format":
        raise UnsupportedFormat(
            "This is a sound file, but not wav, flac, mp3 or ogg. Save it as one of these."
        )
    if reason == "limit":
        raise _stopped()
    raise UnreadableClip(
        "This file starts like a recording, but the rest can't be decoded."
        " Export it again, or record the note again."
    )
