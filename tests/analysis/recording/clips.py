"""Sound files of every accepted kind for the tests, made by libsndfile and FFmpeg."""

from __future__ import annotations

import io
from collections.abc import Mapping

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

Samples = NDArray[np.floating]

SNDFILE_KINDS = {
    "wav": ("WAV", "PCM_16"),
    "flac": ("FLAC", "PCM_16"),
    "mp3": ("MP3", "MPEG_LAYER_III"),
    "ogg": ("OGG", "VORBIS"),
    "opus": ("OGG", "OPUS"),
}
FFMPEG_KINDS = {
    "m4a": ("ipod", "aac"),
    "alac": ("ipod", "alac"),
    "aac": ("adts", "aac"),
    "webm": ("webm", "libopus"),
}
FRAGMENTED = {"movflags": "frag_every_frame+empty_moov"}  # as pages record: no index at the end
LAYOUTS = {1: "mono", 2: "stereo", 6: "5.1", 8: "7.1"}


def make_tone(f0_hz: float, duration_s: float, rate: int) -> Samples:
    """A plain sine at half of full scale."""
    return 0.5 * np.sin(2 * np.pi * f0_hz * np.arange(round(duration_s * rate)) / rate)


def encode(samples: Samples, kind: str, rate: int) -> bytes:
    """A file of a kind; `samples` of shape (n,) or (n, channels)."""
    if kind in FFMPEG_KINDS:
        container, codec = FFMPEG_KINDS[kind]
        return encode_by_ffmpeg(samples, rate, container=container, codec=codec)
    target = io.BytesIO()
    container, codec = SNDFILE_KINDS[kind]
    soundfile.write(target, samples, rate, format=container, subtype=codec)
    return target.getvalue()


def encode_by_ffmpeg(
    samples: Samples,
    rate: int,
    *,
    container: str,
    codec: str,
    bit_rate: int | None = None,
    title: str = "",
    options: Mapping[str, str] | None = None,
) -> bytes:
    """A file of any container and codec that FFmpeg writes."""
    target = io.BytesIO()
    columns = samples.reshape(len(samples), -1)
    layout = LAYOUTS[columns.shape[1]]
    frame = av.AudioFrame.from_ndarray(
        columns.astype(np.float32).reshape(1, -1), format="flt", layout=layout
    )
    frame.sample_rate = rate
    frame.pts = 0
    with av.open(target, "w", format=container, options=dict(options or {})) as clip:
        if title:
            clip.metadata["title"] = title
        stream = clip.add_stream(codec, rate=rate)
        assert isinstance(stream, av.AudioStream)
        stream.codec_context.layout = layout
        if bit_rate is not None:
            stream.codec_context.bit_rate = bit_rate
        formats = stream.codec_context.codec.audio_formats
        assert formats is not None
        resampler = av.AudioResampler(format=formats[0].name, layout=layout, rate=rate)
        for part in (*resampler.resample(frame), *resampler.resample(None), None):
            clip.mux(stream.encode(part))
    return target.getvalue()
