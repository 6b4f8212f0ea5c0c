"""Decoding what phones record: m4a, aac, webm and Opus, their channels, rates and damage."""

from __future__ import annotations

import io
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from analysis.recording import (
    ClipFormat,
    ClipTooLong,
    TakeWarning,
    UnreadableClip,
    UnsupportedFormat,
    decode_clip,
)
from tests.analysis.recording import clips
from tests.decoded_here import decode_here
from tests.thinning import each_daily, every_daily

RATE = 44_100
TONE = 0.5 * np.sin(2 * np.pi * 440.0 * np.arange(RATE) / RATE)
PHONE_KINDS = {
    "m4a": ClipFormat.M4A,
    "alac": ClipFormat.M4A,
    "aac": ClipFormat.AAC,
    "webm": ClipFormat.WEBM,
    "opus": ClipFormat.OGG,
}


def _write(folder: Path, content: bytes, name: str = "clip") -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def _find_crossings(samples: np.ndarray, rate: float) -> float:
    """Frequency by rising zero crossings in the middle half: knows nothing of the measurement."""
    middle = samples[len(samples) // 4 : -len(samples) // 4]
    at = np.flatnonzero((middle[:-1] < 0) & (middle[1:] >= 0))
    exact = at + middle[at] / (middle[at] - middle[at + 1])
    return float((len(exact) - 1) / (exact[-1] - exact[0]) * rate)


@pytest.mark.parametrize(("kind", "clip_format"), PHONE_KINDS.items())
def test_what_phones_make_decodes_at_its_pitch(
    tmp_path: Path, kind: str, clip_format: ClipFormat
) -> None:
    content = clips.encode(clips.make_tone(440.0, 1.0, 48_000), kind, 48_000)
    clip = decode_clip(_write(tmp_path, content, "voice memo"))
    assert clip.clip_format is clip_format
    assert clip.sample_rate_hz == 48_000 and clip.channels == 1 and clip.warnings == ()
    assert clip.duration_s == pytest.approx(1.0, abs=0.1)
    assert _find_crossings(clip.samples, 48_000) == pytest.approx(440.0, rel=1e-4)


def test_lossless_m4a_keeps_its_values(tmp_path: Path) -> None:
    clip = decode_clip(_write(tmp_path, clips.encode(TONE, "alac", RATE)))
    assert np.abs(clip.samples - TONE).max() < 2**-22


@pytest.mark.parametrize(
    ("kind", "channels"), each_daily(["wav", "flac", "m4a", "webm"], [1, 2, 6, 8])
)
def test_up_to_eight_channels_are_read(tmp_path: Path, kind: str, channels: int) -> None:
    tone = clips.make_tone(440.0, 0.4, 48_000)
    scale = np.linspace(1.0, 0.5, channels)
    clip = decode_here(_write(tmp_path, clips.encode(tone[:, None] * scale, kind, 48_000)))
    assert clip.channels == channels
    assert _find_crossings(clip.samples, 48_000) == pytest.approx(440.0, rel=1e-3)


@pytest.mark.parametrize(
    "kind_and_rate",
    every_daily(
        2,
        [
            ("wav", 8_000),
            ("wav", 192_000),
            ("flac", 8_000),
            ("flac", 192_000),
            ("mp3", 8_000),
            ("mp3", 48_000),
            ("ogg", 8_000),
            ("ogg", 96_000),
            ("m4a", 8_000),
            ("m4a", 96_000),
            ("alac", 192_000),
            ("aac", 8_000),
            ("aac", 96_000),
        ],
    ),
)
def test_rates_from_8_to_192_khz_are_read(tmp_path: Path, kind_and_rate: tuple[str, int]) -> None:
    kind, rate = kind_and_rate
    content = clips.encode(clips.make_tone(440.0, 0.5, rate), kind, rate)
    clip = decode_here(_write(tmp_path, content))
    assert clip.sample_rate_hz == rate
    assert _find_crossings(clip.samples, rate) == pytest.approx(440.0, rel=1e-3)


def test_an_mp3_is_the_same_in_blocks_as_at_once(tmp_path: Path) -> None:
    """libsndfile reading all at once is the reference: no jump where a block ends."""
    rng = np.random.default_rng(2)
    content = clips.encode(TONE + 0.01 * rng.standard_normal(RATE), "mp3", RATE)
    at_once, _ = soundfile.read(io.BytesIO(content), dtype="float32")
    assert np.array_equal(decode_clip(_write(tmp_path, content)).samples, at_once)


def test_a_silent_first_channel_of_an_m4a_gives_way(tmp_path: Path) -> None:
    both = np.stack([0 * TONE, TONE], axis=1)
    clip = decode_clip(_write(tmp_path, clips.encode(both, "alac", RATE)))
    assert np.abs(clip.samples - TONE).max() < 1e-6


def test_an_mp4_recorded_piece_by_piece_is_kept_up_to_where_it_breaks_off(tmp_path: Path) -> None:
    content = clips.encode_by_ffmpeg(
        TONE, RATE, container="mp4", codec="aac", options=clips.FRAGMENTED
    )
    whole = decode_clip(_write(tmp_path, content))
    cut = decode_clip(_write(tmp_path, content[: len(content) // 2], "cut"))
    assert whole.warnings == () and cut.warnings == (TakeWarning.TRUNCATED,)
    assert 0.3 < cut.duration_s < 0.7
    assert np.array_equal(cut.samples, whole.samples[: len(cut.samples)])


@pytest.mark.parametrize("kind", ["aac", "webm", "mp3", "opus"])
def test_a_stream_that_breaks_off_is_kept_and_flagged(tmp_path: Path, kind: str) -> None:
    content = clips.encode(clips.make_tone(440.0, 3.0, 48_000), kind, 48_000)
    clip = decode_clip(_write(tmp_path, content[: len(content) // 2]))
    assert clip.warnings == (TakeWarning.TRUNCATED,)
    assert 0.8 < clip.duration_s < 2.2


def test_an_m4a_without_its_index_is_refused(tmp_path: Path) -> None:
    content = clips.encode(TONE, "m4a", RATE)
    assert content.rindex(b"moov") > len(content) // 2  # the index comes last
    with pytest.raises(UnreadableClip, match="can't be decoded"):
        decode_clip(_write(tmp_path, content[: len(content) // 2]))


def test_a_webm_that_claims_years_is_refused(tmp_path: Path) -> None:
    content = bytearray(clips.encode(TONE, "webm", 48_000))
    at = content.index(b"\x44\x89\x88")  # RFC 9559: Duration, a float of 8 bytes, in ms here
    content[at + 3 : at + 11] = struct.pack(">d", 1e12)
    with pytest.raises(ClipTooLong, match="a clip may hold 10 minutes"):
        decode_clip(_write(tmp_path, bytes(content)))


def test_an_m4a_that_claims_years_is_read_as_far_as_there_is_sound(tmp_path: Path) -> None:
    content = bytearray(clips.encode(TONE, "alac", RATE))
    # ISO/IEC 14496-12, 8.6.1.2: version, flags, entries, then count and duration of each
    at = content.index(b"stts") + 12
    content[at : at + 4] = b"\x7f\xff\xff\xff"
    clip = decode_clip(_write(tmp_path, bytes(content)))
    # FFmpeg 8 takes what the forged last packet is short of a whole one off its sound
    packet_s = 4096 / RATE
    assert clip.duration_s == pytest.approx(1.0, abs=packet_s)


def test_hours_of_silent_opus_are_refused_while_decoding(tmp_path: Path) -> None:
    quiet = np.zeros(8_000 * 660)
    content = clips.encode_by_ffmpeg(
        quiet, 8_000, container="webm", codec="libopus", options={"live": "1"}
    )
    assert len(content) < 1_000_000  # and it does not say how long it is
    with pytest.raises(ClipTooLong, match="minutes long"):
        decode_clip(_write(tmp_path, content))


def test_a_codec_that_is_not_read_is_named(tmp_path: Path) -> None:
    content = clips.encode_by_ffmpeg(
        clips.make_tone(440.0, 0.5, 44_100), 44_100, container="mp4", codec="ac3"
    )
    with pytest.raises(UnsupportedFormat, match="coded in a way that is not read"):
        decode_clip(_write(tmp_path, content))
