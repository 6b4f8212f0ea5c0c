"""Which kind of sound file some bytes are, judged by content, never by a name.

Sources of the signatures: wav: RIFF/WAVE (IBM and Microsoft, Multimedia Programming Interface 1.0,
1991) and RF64/WAVE (EBU Tech 3306); flac: RFC 9639 section 8.1 ("fLaC"); ogg: RFC 3533 section 6
("OggS"); mp3: frame header of ISO/IEC 11172-3 section 2.4.1.3 and the ID3v2 tag (id3.org).
"""

from __future__ import annotations

from enum import StrEnum

from analysis.recording.errors import EmptyClip, UnsupportedFormat


class ClipFormat(StrEnum):
    """The accepted kinds of sound file."""

    WAV = "wav"
    FLAC = "flac"
    MP3 = "mp3"
    OGG = "ogg"


ACCEPTED_FORMATS = tuple(ClipFormat)
"""Accepted by `decode_clip`: wav, flac, mp3, and ogg with Vorbis or Opus inside."""

SNIFF_BYTES = 64
"""How many bytes `sniff_format` wants to see."""

_OTHERS = (
    (4, b"ftyp", "an MP4 or M4A file"),
    (0, b"\x1aE\xdf\xa3", "a WebM or Matroska file"),
    (0, b"FORM", "an AIFF file"),
    (0, b"caff", "a Core Audio file"),
    (0, b"\x89PNG", "a picture"),
    (0, b"\xff\xd8\xff", "a picture"),
    (0, b"GIF8", "a picture"),
    (0, b"%PDF", "a PDF document"),
    (0, b"PK\x03\x04", "a zip archive or office document"),
    (0, b"MThd", "a MIDI file"),
)


def sniff_format(head: bytes) -> ClipFormat:
    """Name the kind of sound file from its first bytes (`SNIFF_BYTES` are enough).

    Raises `EmptyClip` for no bytes and `UnsupportedFormat` (saying what was found) otherwise.

    >>> sniff_format(b"RIFF....WAVEfmt ")
    <ClipFormat.WAV: 'wav'>
    """
    if not head:
        raise EmptyClip("This file is empty. Choose the recording again.")
    if head[:4] in (b"RIFF", b"RF64") and head[8:12] == b"WAVE":
        return ClipFormat.WAV
    if head.startswith(b"fLaC"):
        return ClipFormat.FLAC
    if head.startswith(b"OggS"):
        return ClipFormat.OGG
    if head.startswith(b"ID3") or _is_mpeg_layer_3(head):
        return ClipFormat.MP3
    raise UnsupportedFormat(
        f"This is {_name_other(head)}, not a recording that can be measured."
        " Save it as wav, flac, mp3 or ogg and attach that."
    )


def _is_mpeg_layer_3(head: bytes) -> bool:
    """Whether an MPEG audio frame header starts here: sync, layer III, possible rates."""
    if len(head) < 3 or head[0] != 0xFF or head[1] & 0xE0 != 0xE0:
        return False
    version, layer = head[1] >> 3 & 3, head[1] >> 1 & 3
    bitrate, rate = head[2] >> 4, head[2] >> 2 & 3
    return version != 1 and layer == 1 and bitrate not in (0, 15) and rate != 3


def _name_other(head: bytes) -> str:
    for start, mark, name in _OTHERS:
        if head[start : start + len(mark)] == mark:
            return name
    return "something else"
