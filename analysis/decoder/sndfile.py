"""libsndfile reader of clips: wav, flac, mp3, ogg."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import BinaryIO

import soundfile

from analysis.decoder.clips import Block, ClipRejected, NamelessFile

BLOCK_FRAMES = 8_192  # small: of the block in which a clip breaks off nothing is kept
# libsndfile gives its largest count when a stream does not say how long it is
UNKNOWN_FRAMES = 2**62
KINDS = {
    "WAV": "wav",
    "WAVEX": "wav",
    "RF64": "wav",
    "FLAC": "flac",
    "MP3": "mp3",
    "MPEG": "mp3",
    "OGG": "ogg",
}
OGG_PAGE_BYTES = 65_307  # the longest page: RFC 3533, section 6
DAMAGE_ERRORS: tuple[type[Exception], ...] = (soundfile.SoundFileError,)
"""Errors that reading a damaged file can raise; anything else is a fault of ours."""


class _Stream(soundfile.SoundFile):  # type: ignore[misc]  # soundfile carries no types
    """A sound file that is only read on and on.

    Of one that can be sought in, soundfile seeks to the end of each block after reading it, and in
    an mp3 that is inexact: the sound would jump there.
    """

    def seekable(self) -> bool:
        return False


class SndfileClip:
    """A clip that libsndfile reads."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        with self._open() as clip:
            if clip.format not in KINDS:
                raise ClipRejected("format", 0)
            self.kind = KINDS[clip.format]
            self.rate = clip.samplerate
            self.channels = clip.channels
            self.claimed = clip.frames if clip.frames < UNKNOWN_FRAMES else 0
            self._log = clip.extra_info

    def _open(self) -> _Stream:
        self._stream.seek(0)
        return _Stream(NamelessFile(self._stream))

    def read_blocks(self) -> Iterator[Block]:
        """See `Clip`."""
        with self._open() as clip:
            yield from self._read_on(clip)

    def _read_on(self, clip: _Stream) -> Iterator[Block]:
        has_sound = False
        while True:
            try:
                block = clip.read(BLOCK_FRAMES, dtype="float32", always_2d=True)
            except soundfile.LibsndfileError:
                if not has_sound:
                    raise
                return
            if not len(block):
                return
            has_sound = True
            yield block

    def is_truncated(self, decoded: int) -> bool:
        """See `Clip`; an mp3 without a frame count does not say how long it should be."""
        if self.kind == "ogg":
            return _ends_within_page(self._stream)
        if self.kind == "wav":
            return _is_wav_cut(self._log)
        is_counted = self.kind == "flac" or _has_frame_count(self._stream)
        return is_counted and decoded < self.claimed


def _is_wav_cut(log: str) -> bool:
    """Whether the sound chunk is shorter than its header says.

    libsndfile corrects the length by the size of the file and notes it in its log. A recorder that
    streams writes the greatest or no length, which is no promise.
    """
    for line in log.splitlines():
        words = line.split()
        if words[:2] == ["data", ":"] and "should be" in line:
            return words[2] not in ("0", "4294967295", "-1")
    return False


def _has_frame_count(stream: BinaryIO) -> bool:
    """Whether an mp3 counts its frames, in a Xing or Info tag in its first frame (from memory).

    That frame comes after the ID3v2 tag, whose length is in four bytes of seven bits.
    """
    stream.seek(0)
    head = stream.read(10)
    tag = sum((byte & 127) << shift for byte, shift in zip(head[6:], (21, 14, 7, 0), strict=False))
    stream.seek(10 + tag if head.startswith(b"ID3") else 0)
    first_frame = stream.read(200)
    return b"Xing" in first_frame or b"Info" in first_frame


def _ends_within_page(stream: BinaryIO) -> bool:
    """Whether the last Ogg page is longer than what is left of the file.

    A page: "OggS", 22 bytes, the number of segments, their lengths, the segments (RFC 3533).
    """
    end = stream.seek(0, os.SEEK_END)
    stream.seek(max(0, end - 2 * OGG_PAGE_BYTES))
    tail = stream.read()
    at = tail.rfind(b"OggS")
    if at < 0 or len(tail) < at + 27:
        return True
    lengths = tail[at + 27 : at + 27 + tail[at + 26]]
    return at + 27 + tail[at + 26] + sum(lengths) > len(tail)
