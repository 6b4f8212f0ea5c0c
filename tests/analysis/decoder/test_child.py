"""The decoding itself, called in this process: bounds and reports."""

from __future__ import annotations

import io
import json
from typing import Any

import av
import numpy as np
import pytest

from analysis.decoder import sndfile
from analysis.decoder.child import REPORT_BYTES, Bounds, decode, load_library
from tests.analysis.recording.clips import encode, encode_by_ffmpeg, make_tone

RATE = 16_000
BOUNDS = Bounds(2, RATE * 10, 8)
LIBRARIES = {"wav": "sndfile.py", "m4a": "ffmpeg.py"}


def _decode(content: bytes, kind: str, bounds: Bounds) -> tuple[dict[str, Any], bytes]:
    output = io.BytesIO()
    report = decode(io.BytesIO(content), kind, output, library=load_library(kind), bounds=bounds)
    return report, output.getvalue()


@pytest.mark.parametrize("kind", ["wav", "flac", "mp3", "ogg", "m4a", "aac"])
def test_a_clip_just_as_long_as_it_may_be_is_read_whatever_its_encoder_pads(kind: str) -> None:
    content = encode(make_tone(440.0, 2.0, RATE), kind, RATE)
    report, written = _decode(content, kind, Bounds(2, RATE * 10, 8))
    assert report["frames"] >= 2 * RATE
    assert len(written) == 4 * report["frames"]


@pytest.mark.parametrize("kind", ["wav", "flac", "mp3", "ogg", "m4a", "aac"])
def test_a_longer_clip_is_refused_before_much_of_it_is_written(kind: str) -> None:
    content = encode(make_tone(440.0, 6.0, RATE), kind, RATE)
    report, written = _decode(content, kind, Bounds(2, RATE * 10, 8))
    assert report["refused"] == "long"
    assert len(written) <= 4 * 4 * RATE


def test_samples_are_those_of_the_loudest_channel_when_the_first_is_silent() -> None:
    tone = make_tone(440.0, 0.5, RATE)
    three = np.stack([0 * tone, 0.1 * tone, tone], axis=1)
    report, written = _decode(encode(three, "wav", RATE), "wav", Bounds(2, RATE * 10, 8))
    assert report["channels"] == 3
    assert np.abs(np.frombuffer(written, "<f4") - tone).max() < 1e-4


@pytest.mark.parametrize("kind", ["wav", "m4a"])
@pytest.mark.parametrize("error", [TypeError, KeyError, AttributeError, ValueError])
def test_an_error_of_ours_is_never_told_as_damage_of_the_clip(
    monkeypatch: pytest.MonkeyPatch, kind: str, error: type[Exception]
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error("an unexpected argument 'ü'")

    content = encode(make_tone(440.0, 0.5, RATE), kind, RATE)
    monkeypatch.setattr(av, "open", fail)
    monkeypatch.setattr(sndfile, "_Stream", fail)
    report, _ = _decode(content, kind, BOUNDS)
    assert report["refused"] == "fault"
    assert report["place"].startswith(f"{error.__name__} at {LIBRARIES[kind]}:")
    assert len(json.dumps(report)) < REPORT_BYTES


def test_a_title_that_is_no_text_does_not_keep_a_clip_from_being_read() -> None:
    plain = encode_by_ffmpeg(
        make_tone(440.0, 0.5, RATE), RATE, container="ipod", codec="aac", title="AAAABBBB"
    )
    content = plain.replace(b"AAAABBBB", b"\xff\xfeAA\x80\x81BB")
    assert content != plain
    report, _ = _decode(content, "m4a", BOUNDS)
    assert report["frames"] >= 0.5 * RATE


def test_a_clip_without_sound_is_empty() -> None:
    report, _ = _decode(encode(np.zeros(0), "wav", RATE), "wav", Bounds(2, RATE * 10, 8))
    assert report["refused"] == "empty"
