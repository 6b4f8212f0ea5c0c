"""What lossy codecs do to pitch, steadiness and brightness.

Run by hand from the checkout: `python -m tests.benchmarks.bench_codecs [--clips N]`. Seeded tones
(`tests/analysis/recording/tones.py`) are measured as they are and after a codec; the difference is
the codec's bias. AAC, mp3 and Opus are encoded by FFmpeg (PyAV), Vorbis by libsndfile.
"""

from __future__ import annotations

import argparse
import io
import tempfile
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

import numpy as np
import soundfile

from analysis.recording import TakeMeasurement, decode_clip, measure_take
from tests.analysis.recording.clips import encode_by_ffmpeg
from tests.analysis.recording.tones import Samples, Tone

RATE = 48_000
DURATION_S = 3.0
BANDS_HZ = ((58.0, 150.0), (150.0, 400.0), (400.0, 900.0), (900.0, 1900.0))
Encoder = Callable[[Samples], bytes]


def encode_vorbis(samples: Samples, *, level: float) -> bytes:
    """Ogg Vorbis; `level` 0 is the best quality, 1 the smallest file."""
    target = io.BytesIO()
    soundfile.write(target, samples, RATE, format="OGG", subtype="VORBIS", compression_level=level)
    return target.getvalue()


def _by_ffmpeg(container: str, codec: str, kilobits: int) -> Encoder:
    return partial(
        encode_by_ffmpeg, rate=RATE, container=container, codec=codec, bit_rate=1000 * kilobits
    )


ENCODERS: Mapping[str, Encoder] = {
    "AAC 128k (m4a)": _by_ffmpeg("ipod", "aac", 128),
    "AAC 64k (m4a)": _by_ffmpeg("ipod", "aac", 64),
    "AAC 32k (m4a)": _by_ffmpeg("ipod", "aac", 32),
    "ALAC (m4a)": _by_ffmpeg("ipod", "alac", 0),
    "mp3 128k": _by_ffmpeg("mp3", "libmp3lame", 128),
    "mp3 64k": _by_ffmpeg("mp3", "libmp3lame", 64),
    "Opus 96k (webm)": _by_ffmpeg("webm", "libopus", 96),
    "Opus 64k (webm)": _by_ffmpeg("webm", "libopus", 64),
    "Opus 32k (webm)": _by_ffmpeg("webm", "libopus", 32),
    "Vorbis level 0.4 (ogg)": partial(encode_vorbis, level=0.4),
    "Vorbis level 0.7 (ogg)": partial(encode_vorbis, level=0.7),
}


def make_tones(count: int) -> list[Tone]:
    """Played notes, the bands in turn."""
    rng = np.random.default_rng(11)
    tones = []
    for number in range(count):
        low, high = BANDS_HZ[number % len(BANDS_HZ)]
        tones.append(
            Tone(
                float(np.exp(rng.uniform(np.log(low), np.log(high)))),
                DURATION_S,
                RATE,
                snr_db=50.0,
                drift_cents=3.0,
                wander_cents=0.8,
                amplitude_jitter=0.015,
                scoop_cents=30.0,
                seed=number,
            )
        )
    return tones


def measure_coded(samples: Samples, encoder: Encoder, folder: Path) -> TakeMeasurement:
    path = folder / "clip"
    path.write_bytes(encoder(samples))
    clip = decode_clip(path)
    return measure_take(clip.samples, clip.sample_rate_hz)


def find_bias(plain: TakeMeasurement, coded: TakeMeasurement) -> tuple[float, float, float]:
    """Pitch in cents, spread in cents, brightness in percent: coded less plain."""
    assert plain.f0_hz and coded.f0_hz and plain.brightness_partials
    assert plain.spread_cents is not None and coded.spread_cents is not None
    assert coded.brightness_partials
    return (
        float(1200 * np.log2(coded.f0_hz / plain.f0_hz)),
        coded.spread_cents - plain.spread_cents,
        100 * (coded.brightness_partials / plain.brightness_partials - 1),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=16)
    count = parser.parse_args().clips
    clips = [tone.render() for tone in make_tones(count)]
    plain = [measure_take(samples, RATE) for samples in clips]
    print(
        f"| {'codec':22} | pitch, cents: median, largest | mean | spread, cents: median, largest "
        "| brightness, %: median, largest |"
    )
    print("|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        for name, encoder in ENCODERS.items():
            coded = [measure_coded(samples, encoder, Path(folder)) for samples in clips]
            lost = sum(not each.is_usable for each in coded)
            pairs = zip(plain, coded, strict=True)
            bias = np.array([find_bias(a, b) for a, b in pairs if b.is_usable])
            size = np.abs(bias)
            pitch, spread, brightness = np.median(size, axis=0)
            worst = size.max(axis=0)
            print(
                f"| {name:22} | {pitch:.4f}, {worst[0]:.3f} | {bias[:, 0].mean():+.4f} "
                f"| {spread:.3f}, {worst[1]:.2f} | {brightness:.2f}, {worst[2]:.1f} |"
                + (f" {lost} not measured" if lost else ""),
                flush=True,
            )


if __name__ == "__main__":
    main()
