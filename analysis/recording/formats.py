"""File type sniffing: the kind of sound file by its magic bytes, never by a name.

Sources of the signatures: wav: RIFF/WAVE (IBM and Microsoft, Multimedia Programming Interface 1.0,
1991) and RF64/WAVE (EBU Tech 3306); flac: RFC 9639 section 8.1 ("fLaC"); ogg: RFC 3533 section 6
("OggS"); mp3: frame header of ISO/IEC 11172-3 section 2.4.1.3 and the ID3v2 tag (id3.org); m4a: the
file type box of ISO/IEC 14496-12 section 4.3 (brands of pictures: ISO/IEC 23008-12); aac: the ADTS
header of ISO/IEC 13818-7 section 6.2; webm: the EBML mark of RFC 8794 section 8. From memory.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum

from analysis.recording.errors import EmptyClip, UnsupportedFormat


class ClipFormat(StrEnum):
    """The accepted kinds of sound file; the values are stored and serve as file endings."""

    WAV = "wav"
    FLAC = "flac"
    MP3 = "mp3"
    OGG = "ogg"
    M4A = "m4a"
    AAC = "aac"
    WEBM = "webm"


ACCEPTED_FORMATS = tuple(ClipFormat)
"""Accepted by `decode_clip`: wav, flac, mp3; ogg with Vorbis or Opus inside; m4a, which is any MP4
with AAC or ALAC sound; aac, which is AAC in ADTS; webm, any Matroska with Opus or Vorbis."""

ACCEPTED_WORDS = "wav, flac, mp3, m4a, aac, ogg or webm"
"""The accepted kinds in a sentence."""

SNIFF_BYTES = 64
"""How many bytes `sniff_format` wants to see."""

_PICTURE_BRANDS = (b"heic", b"heix", b"mif1", b"msf1", b"avif")
_OTHERS = (
    (4, b"ftyp", "a picture"),
    (0, b"#!AMR", "an AMR voice recording"),
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
    for kind, is_kind in _KINDS:
        if is_kind(head):
            return kind
    raise UnsupportedFormat(
        f"This is {_name_other(head)}, not a recording that can be measured."
        f" Save it as {ACCEPTED_WORDS} and attach that."
    )


def _is_wav(head: bytes) -> bool:
    return head[:4] in (b"RIFF", b"RF64") and head[8:12] == b"WAVE"


def _is_mp4(head: bytes) -> bool:
    return head[4:8] == b"ftyp" and head[8:12] not in _PICTURE_BRANDS


def _is_mpeg_layer_3(head: bytes) -> bool:
    """Whether an MPEG audio frame header starts here: sync, layer III, possible rates."""
    if len(head) < 3 or head[0] != 0xFF or head[1] & 0xE0 != 0xE0:
        return False
    version, layer = head[1] >> 3 & 3, head[1] >> 1 & 3
    bitrate, rate = head[2] >> 4, head[2] >> 2 & 3
    return version != 1 and layer == 1 and bitrate not in (0, 15) and rate != 3


def _is_adts(head: bytes) -> bool:
    """Whether an ADTS frame header starts here: sync, layer 0, a possible rate and length."""
    if len(head) < 7 or head[0] != 0xFF or head[1] & 0xF6 != 0xF0:
        return False
    length = (head[3] & 3) << 11 | head[4] << 3 | head[5] >> 5
    return head[2] >> 2 & 15 < 13 and length > 7


def _name_other(head: bytes) -> str:
    for start, mark, name in _OTHERS:
        if head[start : start + len(mark)] == mark:
            return name
    return "something else"


_KINDS: tuple[tuple[ClipFormat, Callable[[bytes], bool]], ...] = (
    (ClipFormat.WAV, _is_wav),
    (ClipFormat.FLAC, lambda head: head.startswith(b"fLaC")),
    (ClipFormat.OGG, lambda head: head.startswith(b"OggS")),
    (ClipFormat.MP3, lambda head: head.startswith(b"ID3") or _is_mpeg_layer_3(head)),
    (ClipFormat.M4A, _is_mp4),
    (ClipFormat.WEBM, lambda head: head.startswith(b"\x1aE\xdf\xa3")),
    (ClipFormat.AAC, _is_adts),
)
