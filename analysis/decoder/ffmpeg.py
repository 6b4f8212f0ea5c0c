"""FFmpeg reader of clips: MP4 (AAC, ALAC), AAC in ADTS, WebM (Opus, Vorbis).

FFmpeg is told which container to read and given an open file instead of a name, so it never looks
for another file or an address, whatever the clip says.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, BinaryIO

import av
import numpy as np
from av.audio.plane import AudioPlane

from analysis.decoder.clips import Block, ClipRejected, NamelessFile

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream
    from av.container import InputContainer

CONTAINERS = {"m4a": "mov", "aac": "aac", "webm": "matroska"}
CODECS = frozenset({"aac", "alac", "opus", "vorbis", "flac", "mp3", "mp3float"})
# how samples lie in memory, and what is full scale
SAMPLES: dict[str, tuple[str, int]] = {
    "u8": ("u1", 2**7),
    "s16": ("i2", 2**15),
    "s32": ("i4", 2**31),
    "s64": ("i8", 2**63),
    "flt": ("f4", 1),
    "dbl": ("f8", 1),
}
LEADING_ERRORS = 8  # damaged packets that may come before the first sound
MISSING_S = 0.1  # how much shorter than its container says a clip may be: padding, rounding
DAMAGE_ERRORS: tuple[type[Exception], ...] = (av.error.FFmpegError,)
"""Errors that reading a damaged file can raise; anything else is a fault of ours."""
# Names and titles in a container may be of any encoding. PyAV 19 replaces what it can't read;
# before, it had to be told to.
_PYAV_MAJOR = int(av.__version__.partition(".")[0])
_OPEN_OPTIONS: dict[str, Any] = {} if _PYAV_MAJOR >= 19 else {"metadata_errors": "ignore"}

av.logging.set_level(None)


class FfmpegClip:
    """A clip that FFmpeg reads: the first audio stream of a container."""

    def __init__(self, stream: BinaryIO, kind: str) -> None:
        self.kind = kind
        self._stream = stream
        self._is_broken = False
        with self._open() as container:
            sound = _find_sound(container)
            # what a container says of rate and channels can be half of what is decoded (HE-AAC)
            first = next(self._decode(container, sound), None)
            if first is None:
                raise ClipRejected("empty", 0)
            self.rate = first.sample_rate
            self.channels = first.layout.nb_channels
            self.claimed = self._find_claimed(container, sound)

    def _open(self) -> InputContainer:
        self._stream.seek(0)
        container: InputContainer = av.open(
            NamelessFile(self._stream), "r", CONTAINERS[self.kind], **_OPEN_OPTIONS
        )
        return container

    def _find_claimed(self, container: InputContainer, sound: AudioStream) -> int:
        """The frames the container speaks of, 0 if it does not; ADTS lengths are estimates."""
        if self.kind == "aac":
            return 0
        if sound.duration and sound.time_base:
            return max(0, int(sound.duration * sound.time_base * self.rate))
        if len(container.streams) > 1:  # then the container's length may be that of another stream
            return 0
        return max(0, (container.duration or 0) * self.rate // 1_000_000)

    def read_blocks(self) -> Iterator[Block]:
        """See `Clip`."""
        self._is_broken = False
        with self._open() as container:
            for frame in self._decode(container, _find_sound(container)):
                if frame.sample_rate != self.rate or frame.layout.nb_channels != self.channels:
                    self._is_broken = True
                    return
                yield _to_block(frame, self.channels)

    def _decode(self, container: InputContainer, sound: AudioStream) -> Iterator[AudioFrame]:
        """Frames with sound in them; damage before the first is skipped, after it ends the clip."""
        has_sound, errors = False, 0
        packets = container.demux(sound)
        while errors <= LEADING_ERRORS:
            try:
                packet = next(packets, None)
                if packet is None or (packet.is_corrupt and has_sound):
                    break
                frames = sound.codec_context.decode(packet if packet.size else None)
            except MemoryError:
                raise
            except (av.error.FFmpegError, ValueError):  # ValueError: a codec that can't be set up
                errors += 1
                if has_sound:
                    break
                continue
            for frame in frames:
                if frame.samples:
                    has_sound = True
                    yield frame
        else:
            packet = None
        if errors and not has_sound:
            raise ClipRejected("unreadable", 0)
        self._is_broken = bool(errors) or packet is not None

    def is_truncated(self, decoded: int) -> bool:
        """Whether a packet was damaged or the container promises more than there is."""
        return self._is_broken or decoded < self.claimed - MISSING_S * self.rate


def _find_sound(container: InputContainer) -> AudioStream:
    if not container.streams.audio:
        raise ClipRejected("empty", 0)
    sound = container.streams.audio[0]
    codec = sound.codec_context.name if sound.codec_context else ""
    if codec not in CODECS and not codec.startswith("pcm_"):
        raise ClipRejected("codec", 0)
    sound.codec_context.thread_type = "NONE"
    return sound


def _to_block(frame: AudioFrame, channels: int) -> Block:
    """Samples of one frame as float32 of shape (n, channels)."""
    dtype, scale = SAMPLES[frame.format.name.removesuffix("p")]
    # not `frame.planes`: of eight planes PyAV counts nine, and refuses the ninth from 19 on
    plane_count = channels if frame.format.is_planar else 1
    planes = [AudioPlane(frame, number) for number in range(plane_count)]
    count = frame.samples * channels // len(planes)
    columns = [np.frombuffer(memoryview(plane), dtype, count) for plane in planes]
    block = np.stack(columns, axis=1) if len(planes) > 1 else columns[0].reshape(-1, channels)
    converted = block.astype(np.float32)
    if dtype == "u1":
        converted -= scale
    return converted / np.float32(scale)
