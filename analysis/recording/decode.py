"""Decode untrusted clips to samples, in a child process with time, processor and memory limits.

Accepted: wav, flac, mp3, ogg (Vorbis, Opus), MP4 (m4a, mp4: AAC, ALAC), AAC in ADTS and WebM (Opus,
Vorbis), judged by content; up to 10 minutes and 60 million samples a channel (so 5 minutes at
192 kHz), 8 channels, 8 to 192 kHz, 8 bits to float, 256 MiB. The time limit holds everywhere;
processor and memory limits on POSIX systems.

Of several channels the first is measured, as a mix could cancel; if the first is silent (40 dB
below the loudest) the loudest is. A file that breaks off is kept up to there and flagged. A child
that is stopped or crashes is a refusal by name like any other.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, NoReturn

import numpy as np
from numpy.typing import NDArray

from analysis.decoder.child import REPORT_BYTES
from analysis.recording.errors import (
    ClipTooLarge,
    ClipTooLong,
    DecoderFault,
    DecoderMissing,
    DecodingTookTooLong,
    EmptyClip,
    UnreadableClip,
    UnsupportedFormat,
)
from analysis.recording.formats import ACCEPTED_WORDS, SNIFF_BYTES, ClipFormat, sniff_format
from analysis.recording.measurement import TakeWarning
from analysis.sandbox.child_processes import (
    Child,
    SpareChild,
    child_code,
    isolated_command,
    met_limit,
    start_child,
)

MAX_CLIP_S = 600
MAX_FRAMES = 60_000_000
MAX_CHANNELS = 8
MAX_CLIP_BYTES = 256 * 1024 * 1024
TIMEOUT_S = 30.0
CHILD_CODE = child_code("analysis.decoder.child")
_CHILD_NEEDS = (
    "analysis",
    "numpy",
    "soundfile",
    "_soundfile_data",
    "_cffi_backend",
    "typing_extensions",
    "av",
)


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A decoded clip: `samples` of shape (n,), float32, full scale -1 to 1, one channel.

    The samples lie in a temporary file and are read from it as they are used, so a long recording
    takes little memory; they can't be written to. `channels` is how many the file has. `warnings`
    belong to the take measured from it.
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
    `ClipTooLong`, `ClipTooLarge`, `DecodingTookTooLong`; `DecoderFault` where this program
    failed and the clip may be sound, with the place as a note (`BaseException.add_note`). A missing
    file raises OSError: that is the caller's fault, not the clip's.
    """
    size = path.stat().st_size
    if size > MAX_CLIP_BYTES:
        raise ClipTooLarge(
            f"This file has {size / 2**20:.0f} MB; a clip may have {MAX_CLIP_BYTES // 2**20} MB."
            " Cut out the note you mean, or save it as flac."
        )
    with path.open("rb") as stream:
        kind = sniff_format(stream.read(SNIFF_BYTES))
    with _hand_over(path, kind) as child:
        exit_code = child.wait(timeout_s)
        if exit_code is None:
            raise _stopped()
        report = _read_report(child.output, exit_code)
        if "refused" in report:
            _refuse(report["refused"], float(report["figure"]), report.get("place", ""))
        samples = _map_samples(child.output, int(report["frames"]))
    return Recording(
        samples=samples,
        sample_rate_hz=float(report["rate"]),
        clip_format=ClipFormat(report["format"]),
        channels=int(report["channels"]),
        warnings=(TakeWarning.TRUNCATED,) if report["truncated"] else (),
    )


def start_spare() -> None:
    """Start the child for the next clip ahead of it, which then saves most of the waiting.

    It takes one clip like any other child, and ends by itself if none comes for long.
    """
    _SPARE.prepare()


def _hand_over(path: Path, kind: ClipFormat) -> Child:
    """Give the clip to the spare child, or else to a new one."""
    bounds = (MAX_CLIP_S, MAX_FRAMES, MAX_CHANNELS)
    job = json.dumps([str(path.absolute()), kind.value, *bounds]).encode("ascii")
    spare = _SPARE.take()
    if spare is not None:
        if spare.hand_over(job):
            return spare
        spare.end()
    child = _start(kind)
    child.hand_over(job)  # one that has died meanwhile is judged by how it ended
    return child


def _start(kind: ClipFormat) -> Child:
    return start_child(isolated_command(CHILD_CODE, _CHILD_NEEDS, kind.value))


_SPARE = SpareChild(lambda: _start(ClipFormat.WAV))


def _read_report(output: IO[bytes], exit_code: int) -> dict[str, Any]:
    """The child's report; a child that was stopped or crashed has written none."""
    length = output.seek(0, 2)
    if exit_code != 0 or length < REPORT_BYTES:
        _refuse("limit" if met_limit(exit_code) else "crashed", 0)
    output.seek(length - REPORT_BYTES)
    try:
        report = json.loads(output.read())
    except ValueError:
        report = None
    if not isinstance(report, dict):
        _refuse("crashed", 0)
    return report


def _map_samples(output: IO[bytes], count: int) -> NDArray[np.float32]:
    """The samples as they lie in the file, which is gone when the last of them is let go."""
    output.flush()
    samples = np.asarray(np.memmap(output, dtype="<f4", mode="r", shape=(count,)))
    return samples.astype(np.float32, copy=False)


def _stopped() -> DecodingTookTooLong:
    return DecodingTookTooLong(
        "This file could not be decoded within the limits of time and memory."
        " Export it again as wav or flac, or record the note again."
    )


def _refuse(reason: str, figure: float, place: str = "") -> NoReturn:
    if reason == "fault":
        fault = DecoderFault(
            "This program failed while it read the recording; the recording itself may be sound."
            " Save it as wav or flac and try again, or install the program again."
        )
        fault.add_note(f"In the decoding child: {place}")
        raise fault
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
        raise EmptyClip("This file holds no sound. Choose the recording again.")
    if reason == "format":
        raise UnsupportedFormat(
            f"This is a sound file, but not {ACCEPTED_WORDS}. Save it as one of these."
        )
    if reason == "codec":
        raise UnsupportedFormat(
            "The sound in this file is coded in a way that is not read (AAC, ALAC, Opus, Vorbis,"
            " flac and mp3 are). Save it as wav, flac or m4a."
        )
    if reason == "missing":
        raise DecoderMissing(
            "The part of this program that reads such a file can't be loaded on this computer."
            " Save the recording as wav or flac, or install the program again."
        )
    if reason == "limit":
        raise _stopped()
    if reason == "crashed":
        raise UnreadableClip(
            "This file is damaged in a way that ended the decoder."
            " Export it again, or record the note again."
        )
    raise UnreadableClip(
        "This file starts like a recording, but the rest can't be decoded."
        " Export it again, or record the note again."
    )
