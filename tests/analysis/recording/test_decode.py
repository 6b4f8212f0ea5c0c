"""Decoding untrusted files in a child process. Files are written by libsndfile and FFmpeg."""

from __future__ import annotations

import io
import os
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from analysis.recording import (
    ClipFormat,
    ClipTooLarge,
    ClipTooLong,
    DecodingTookTooLong,
    EmptyClip,
    RecordingError,
    TakeWarning,
    UnreadableClip,
    UnsupportedFormat,
    decode,
    decode_clip,
)
from analysis.recording.errors import DecoderFault, DecoderMissing
from tests.analysis.recording import clips
from tests.decoded_here import decode_here
from tests.thinning import every_daily

RATE = 44_100
TONE = 0.5 * np.sin(2 * np.pi * 440.0 * np.arange(RATE) / RATE)
KINDS = {
    ClipFormat.WAV: ("WAV", "PCM_16"),
    ClipFormat.FLAC: ("FLAC", "PCM_16"),
    ClipFormat.MP3: ("MP3", "MPEG_LAYER_III"),
    ClipFormat.OGG: ("OGG", "VORBIS"),
}


def _encode(samples: np.ndarray, kind: ClipFormat, rate: int = RATE, subtype: str = "") -> bytes:
    target = io.BytesIO()
    name, usual = KINDS[kind]
    soundfile.write(target, samples, rate, format=name, subtype=subtype or usual)
    return target.getvalue()


def _write(folder: Path, content: bytes, name: str = "clip") -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_decodes_whatever_its_name(tmp_path: Path, kind: ClipFormat) -> None:
    path = _write(tmp_path, _encode(TONE, kind), "notes.raw")
    clip = decode_clip(path)
    assert clip.clip_format is kind
    assert clip.samples.dtype == np.float32 and clip.samples.ndim == 1
    assert clip.sample_rate_hz == RATE and clip.channels == 1
    assert clip.duration_s == pytest.approx(1.0, abs=0.06)  # mp3 pads by a frame or two
    assert clip.warnings == ()


@pytest.mark.parametrize(
    "subtype", every_daily(2, ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
)
def test_wav_samples_keep_their_values(tmp_path: Path, subtype: str) -> None:
    clip = decode_here(_write(tmp_path, _encode(TONE, ClipFormat.WAV, subtype=subtype)))
    step = {"PCM_U8": 2**-7, "PCM_16": 2**-15}.get(subtype, 2**-22)
    assert np.abs(clip.samples - TONE).max() <= step


def test_opus_in_ogg_decodes(tmp_path: Path) -> None:
    samples = 0.5 * np.sin(2 * np.pi * 440.0 * np.arange(48_000) / 48_000)
    content = _encode(samples, ClipFormat.OGG, 48_000, "OPUS")
    assert decode_clip(_write(tmp_path, content)).clip_format is ClipFormat.OGG


def test_the_first_channel_is_measured_and_channels_are_not_mixed(tmp_path: Path) -> None:
    both = np.stack([TONE, -TONE], axis=1)  # a mix would be silent
    clip = decode_clip(_write(tmp_path, _encode(both, ClipFormat.FLAC)))
    assert clip.channels == 2
    assert np.abs(clip.samples - TONE).max() < 1e-4


def test_a_silent_first_channel_gives_way_to_the_loudest(tmp_path: Path) -> None:
    three = np.stack([0 * TONE, 0.1 * TONE, TONE], axis=1)
    clip = decode_clip(_write(tmp_path, _encode(three, ClipFormat.WAV)))
    assert np.abs(clip.samples - TONE).max() < 1e-4


def test_a_quiet_first_channel_is_still_the_one(tmp_path: Path) -> None:
    both = np.stack([0.02 * TONE, TONE], axis=1)
    clip = decode_clip(_write(tmp_path, _encode(both, ClipFormat.WAV, subtype="FLOAT")))
    assert np.abs(clip.samples - 0.02 * TONE).max() < 1e-6


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EmptyClip, match="empty"):
        decode_clip(_write(tmp_path, b""))


def test_a_sound_file_without_sound_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EmptyClip, match="no sound"):
        decode_clip(_write(tmp_path, _encode(TONE[:0], ClipFormat.WAV)))


def test_text_is_refused_whatever_its_name(tmp_path: Path) -> None:
    with pytest.raises(UnsupportedFormat, match="Save it as wav, flac, mp3"):
        decode_clip(_write(tmp_path, b"not a sound at all", "note.wav"))


@pytest.mark.parametrize("kind", KINDS)
def test_a_head_without_a_body_is_refused(tmp_path: Path, kind: ClipFormat) -> None:
    with pytest.raises(RecordingError, match=r"can't be decoded|no sound"):
        decode_clip(_write(tmp_path, _encode(TONE, kind)[:40]))


def test_a_wav_that_breaks_off_is_kept_and_flagged(tmp_path: Path) -> None:
    clip = decode_clip(_write(tmp_path, _encode(TONE, ClipFormat.WAV)[:40_000]))
    assert clip.warnings == (TakeWarning.TRUNCATED,)
    assert clip.duration_s == pytest.approx(40_000 / 2 / RATE, abs=0.001)


def test_a_flac_that_breaks_off_is_kept_and_flagged(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    content = _encode(0.3 * rng.uniform(-1, 1, 4 * RATE), ClipFormat.FLAC)
    clip = decode_clip(_write(tmp_path, content[: len(content) // 2]))
    assert clip.warnings == (TakeWarning.TRUNCATED,)
    assert 1.0 < clip.duration_s < 3.0


def test_a_streamed_wav_without_a_length_is_not_called_broken(tmp_path: Path) -> None:
    content = bytearray(_encode(TONE, ClipFormat.WAV))
    at = content.index(b"data") + 4
    content[at : at + 4] = b"\xff\xff\xff\xff"
    content[4:8] = b"\xff\xff\xff\xff"
    clip = decode_clip(_write(tmp_path, bytes(content)))
    assert clip.warnings == ()
    assert clip.duration_s == pytest.approx(1.0, abs=0.001)


def test_an_hour_of_silent_flac_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "hour"
    block = np.zeros(8_000 * 60, dtype=np.int16)
    with soundfile.SoundFile(path, "w", 8_000, 1, format="FLAC", subtype="PCM_16") as clip:
        for _ in range(60):
            clip.write(block)
    with pytest.raises(ClipTooLong, match="60 minutes long; a clip may hold 10 minutes"):
        decode_clip(path)


def test_a_flac_whose_header_hides_its_length_is_still_stopped(tmp_path: Path) -> None:
    content = bytearray(_encode(np.zeros(8_000 * 660), ClipFormat.FLAC, 8_000))
    # STREAMINFO: 36 bits of total samples end 16 bytes before the block's end (RFC 9639, 8.2);
    # 0 means unknown
    content[21] &= 0xF0
    content[22:26] = bytes(4)
    with pytest.raises(RecordingError, match=r"minutes long|can't be decoded|no sound"):
        decode_clip(_write(tmp_path, bytes(content)))


def test_a_flac_header_that_claims_years_is_refused(tmp_path: Path) -> None:
    content = bytearray(_encode(TONE, ClipFormat.FLAC))
    content[21] |= 0x0F
    content[22:26] = b"\xff\xff\xff\xff"
    with pytest.raises(ClipTooLong, match="a clip may hold 10 minutes"):
        decode_clip(_write(tmp_path, bytes(content)))


def test_too_many_channels_are_refused(tmp_path: Path) -> None:
    many = np.zeros((1000, 9))
    with pytest.raises(ClipTooLarge, match="9 channels"):
        decode_clip(_write(tmp_path, _encode(many, ClipFormat.WAV)))


@pytest.mark.parametrize("rate", [4_000, 384_000])
def test_odd_sample_rates_are_refused(tmp_path: Path, rate: int) -> None:
    with pytest.raises(ClipTooLarge, match=f"{rate} samples a second"):
        decode_clip(_write(tmp_path, _encode(TONE, ClipFormat.WAV, rate)))


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = _write(tmp_path, _encode(TONE, ClipFormat.WAV))
    os.truncate(path, decode.MAX_CLIP_BYTES + 1)  # sparse: takes no room
    with pytest.raises(ClipTooLarge, match="256 MB"):
        decode_clip(path)


def test_a_decoder_that_takes_too_long_is_stopped(tmp_path: Path) -> None:
    path = _write(tmp_path, _encode(TONE, ClipFormat.WAV))
    with pytest.raises(DecodingTookTooLong, match="within the limits"):
        decode_clip(path, timeout_s=0.001)


def test_a_wav_header_that_claims_more_than_there_is_reads_what_there_is(tmp_path: Path) -> None:
    content = bytearray(_encode(TONE, ClipFormat.WAV))
    at = content.index(b"data") + 4
    content[at : at + 4] = struct.pack("<I", 2_000_000_000)
    clip = decode_clip(_write(tmp_path, bytes(content)))
    assert clip.warnings == (TakeWarning.TRUNCATED,)
    assert clip.duration_s == pytest.approx(1.0, abs=0.001)


def test_refusals_hold_no_path(tmp_path: Path) -> None:
    with pytest.raises(UnreadableClip) as refusal:
        decode_clip(_write(tmp_path, b"fLaC" + bytes(200)))
    assert str(tmp_path) not in str(refusal.value)


def test_samples_cannot_be_written_to(tmp_path: Path) -> None:
    clip = decode_clip(_write(tmp_path, _encode(TONE, ClipFormat.WAV)))
    with pytest.raises(ValueError, match="read-only"):
        clip.samples[0] = 1.0


@pytest.mark.parametrize(
    ("code", "refusal", "words"),
    [
        ("import os; os.abort()", UnreadableClip, "ended the decoder"),
        ("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)", UnreadableClip, "ended"),
        ("raise SystemExit(3)", UnreadableClip, "ended the decoder"),
        ("print('x' * 5000)", UnreadableClip, "ended the decoder"),
        ("print('[1]' + ' ' * 600)", UnreadableClip, "ended the decoder"),
        ("import os, signal; os.kill(os.getpid(), signal.SIGXCPU)", DecodingTookTooLong, "limits"),
        ("import os, signal; os.kill(os.getpid(), signal.SIGKILL)", DecodingTookTooLong, "limits"),
        ("raise SystemExit(17)", DecodingTookTooLong, "limits"),
    ],
)
def test_a_child_that_dies_is_a_refusal_by_name(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    code: str,
    refusal: type[RecordingError],
    words: str,
) -> None:
    monkeypatch.setattr(decode, "CHILD_CODE", code)
    with pytest.raises(refusal, match=words):
        decode_clip(_write(tmp_path, _encode(TONE, ClipFormat.WAV)))


def test_a_child_without_its_library_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = decode.CHILD_CODE.replace("import os, sys;", "import os, sys; sys.modules['av'] = None;")
    monkeypatch.setattr(decode, "CHILD_CODE", code)
    with pytest.raises(DecoderMissing, match="as wav or flac"):
        decode_clip(_write(tmp_path, clips.encode(TONE, "m4a", RATE)))
    decode_clip(_write(tmp_path, clips.encode(TONE, "wav", RATE)))


def test_a_fault_of_the_decoder_says_that_the_clip_may_be_sound(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = decode.CHILD_CODE.replace("main(sys", "import av; av.open = lambda: 0; main(sys")
    monkeypatch.setattr(decode, "CHILD_CODE", code)
    with pytest.raises(DecoderFault, match="may be sound") as fault:
        decode_clip(_write(tmp_path, clips.encode(TONE, "m4a", RATE)))
    assert "TypeError at ffmpeg.py:" in fault.value.__notes__[0]
