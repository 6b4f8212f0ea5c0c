"""Kinds of sound file by their first bytes; signatures from the sources named in the module."""

from __future__ import annotations

import pytest

from analysis.recording import ACCEPTED_FORMATS, ClipFormat, EmptyClip, UnsupportedFormat
from analysis.recording.formats import sniff_format


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", ClipFormat.WAV),
        (b"RF64\xff\xff\xff\xffWAVEds64", ClipFormat.WAV),
        (b"fLaC\x00\x00\x00\x22", ClipFormat.FLAC),
        (b"OggS\x00\x02", ClipFormat.OGG),
        (b"ID3\x04\x00", ClipFormat.MP3),
        (b"\xff\xfb\x90\x64", ClipFormat.MP3),  # MPEG 1 layer III, 128 kbit/s, 44.1 kHz
        (b"\xff\xf3\x40\xc4", ClipFormat.MP3),  # MPEG 2 layer III
        (b"\x00\x00\x00\x20ftypM4A ", ClipFormat.M4A),
        (b"\x00\x00\x00\x18ftypmp42", ClipFormat.M4A),
        (b"\x1aE\xdf\xa3\x9fB\x86\x81", ClipFormat.WEBM),
        (b"\xff\xf1\x50\x80\x10\x1f\xfc", ClipFormat.AAC),  # AAC LC, 44.1 kHz, mono
    ],
)
def test_accepted_kinds_are_known_by_content(head: bytes, expected: ClipFormat) -> None:
    assert sniff_format(head) is expected
    assert expected in ACCEPTED_FORMATS


@pytest.mark.parametrize(
    ("head", "found"),
    [
        (b"\x00\x00\x00\x20ftypheic", "a picture"),
        (b"#!AMR\n", "an AMR voice recording"),
        (b"FORM\x00\x00\x00\x00AIFF", "an AIFF file"),
        (b"\x89PNG\r\n", "a picture"),
        (b"%PDF-1.7", "a PDF document"),
        (b"PK\x03\x04", "a zip archive"),
        (b"hello, this is a text", "something else"),
        (b"RIFF\x24\x00\x00\x00AVI LIST", "something else"),
        (b"\xff\xf1\x7c\x80\x10\x1f\xfc", "something else"),  # ADTS without such a rate
        (b"\xff\xf1\x50\x80\x00\x1f\xfc", "something else"),  # ADTS frame shorter than its head
        (b"\xff\xff\xff\xff", "something else"),  # no such bit rate
        (b"\xff", "something else"),
    ],
)
def test_other_content_is_refused_and_named(head: bytes, found: str) -> None:
    with pytest.raises(UnsupportedFormat, match=found):
        sniff_format(head)


def test_nothing_is_an_empty_clip() -> None:
    with pytest.raises(EmptyClip, match="empty"):
        sniff_format(b"")
