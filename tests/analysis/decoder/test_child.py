"""The decoding itself, called in this process: bounds and reports."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest

from analysis.decoder.child import Bounds, decode, load_library
from tests.analysis.recording.clips import encode, make_tone

RATE = 16_000


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


def test_a_clip_without_sound_is_empty() -> None:
    report, _ = _decode(encode(np.zeros(0), "wav", RATE), "wav", Bounds(2, RATE * 10, 8))
    assert report["refused"] == "empty"
