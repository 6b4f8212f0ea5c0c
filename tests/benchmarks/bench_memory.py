"""Memory and time of long clips: the peak of the process that measures and of its decoder.

Run by hand from the checkout: `python -m tests.benchmarks.bench_memory`. Every clip is a synthetic
tone of full length, encoded to a file, and measured by `measure_clip` in a fresh process; phrases
are notes of 3 s with 1 s between, split and measured note by note. The peaks are the system's own
(resident set, libraries and mapped files included). POSIX only.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import soundfile

CLIP_S = 600
F0_HZ = 78.0  # a bass clarinet's low notes have the most partials to keep
LAYOUTS = {1: "mono", 2: "stereo"}
# in a process of its own; Linux gives the peak since its start, other systems since its parent's
START = """
import json, resource, sys, time
from pathlib import Path
started = time.perf_counter()
"""
MEASURE = """
from analysis.recording.clip import measure_clip
measured = measure_clip(Path(sys.argv[1]))
verdict, f0_hz = measured.verdict, measured.f0_hz
"""
SPLIT = """
from analysis.recording import decode_clip, measure_spans, split_takes
sound = decode_clip(Path(sys.argv[1]))
spans = split_takes(sound.samples, sound.sample_rate_hz)
takes = [span.measurement for span in measure_spans(sound.samples, sound.sample_rate_hz, spans)]
verdict = f"{sum(take.is_usable for take in takes)} of {len(takes)} notes ok"
f0_hz = takes[0].f0_hz
"""
REPORT = """
elapsed_s = time.perf_counter() - started
unit = 1 if sys.platform == "darwin" else 1024
try:
    lines = Path("/proc/self/status").read_text().splitlines()
    peak = 1024 * next(int(line.split()[1]) for line in lines if line.startswith("VmHWM"))
except OSError:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit
decoder = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * unit
print(json.dumps([verdict, f0_hz, peak, decoder, elapsed_s]))
"""


@dataclass(frozen=True)
class LongClip:
    """One kind of long clip."""

    name: str
    rate: int
    channels: int = 1
    subtype: str = ""
    container: str = ""
    codec: str = ""
    is_phrase: bool = False


CLIPS = (
    LongClip("wav 16 bits, 44.1 kHz", 44_100, subtype="PCM_16"),
    LongClip("wav 16 bits, 96 kHz, stereo", 96_000, 2, subtype="PCM_16"),
    LongClip("flac, 48 kHz", 48_000, subtype="PCM_16"),
    LongClip("mp3, 48 kHz", 48_000, subtype="MPEG_LAYER_III"),
    LongClip("ogg Vorbis, 48 kHz", 48_000, subtype="VORBIS"),
    LongClip("m4a AAC, 48 kHz, stereo", 48_000, 2, container="ipod", codec="aac"),
    LongClip("webm Opus, 48 kHz", 48_000, container="webm", codec="libopus"),
    LongClip("phrases, wav 16 bits, 44.1 kHz", 44_100, subtype="PCM_16", is_phrase=True),
    LongClip("phrases, flac, 96 kHz", 96_000, subtype="PCM_16", is_phrase=True),
)
MAJORS = {"PCM_16": "WAV", "MPEG_LAYER_III": "MP3", "VORBIS": "OGG"}


def make_second(clip: LongClip, second: int, rng: np.random.Generator) -> np.ndarray:
    """One second of the tone, as (n, channels)."""
    time_s = second + np.arange(clip.rate) / clip.rate
    note = second // 4 % 24 if clip.is_phrase else 0
    turns = F0_HZ * 2 ** (note / 12) * time_s + 0.02 * np.sin(0.7 * time_s)
    tone = np.sum([0.2 / k * np.sin(2 * np.pi * k * turns) for k in range(1, 12)], axis=0)
    if clip.is_phrase and second % 4 == 3:
        tone[:] = 0.0
    tone += 1e-3 * rng.standard_normal(clip.rate)
    return np.repeat(tone[:, None].astype(np.float32), clip.channels, axis=1)


def write_clip(clip: LongClip, path: Path) -> None:
    """Write the clip second by second."""
    rng = np.random.default_rng(1)
    if not clip.codec:
        major = "FLAC" if "flac" in clip.name else MAJORS[clip.subtype]
        with soundfile.SoundFile(
            path, "w", clip.rate, clip.channels, format=major, subtype=clip.subtype
        ) as file:
            for second in range(CLIP_S):
                file.write(make_second(clip, second, rng))
        return
    with av.open(str(path), "w", format=clip.container) as container:
        stream = container.add_stream(clip.codec, rate=clip.rate)
        assert isinstance(stream, av.AudioStream)
        layout = LAYOUTS[clip.channels]
        stream.codec_context.layout = layout
        resampler = av.AudioResampler(format="fltp", layout=layout, rate=clip.rate)
        if clip.codec == "libopus":
            resampler = av.AudioResampler(format="s16", layout=layout, rate=clip.rate)
        for second in range(CLIP_S):
            frame = av.AudioFrame.from_ndarray(
                make_second(clip, second, rng).reshape(1, -1), format="flt", layout=layout
            )
            frame.sample_rate, frame.pts = clip.rate, second * clip.rate
            for part in resampler.resample(frame):
                container.mux(stream.encode(part))
        container.mux(stream.encode(None))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="clips whose name holds this text")
    only = parser.parse_args().only
    print("| 10 minutes of | file MB | peak MB | decoder's peak MB | s | verdict |")
    print("|---|---|---|---|---|---|")
    for clip in (clip for clip in CLIPS if only in clip.name):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "clip"
            write_clip(clip, path)
            script = START + (SPLIT if clip.is_phrase else MEASURE) + REPORT
            done = subprocess.run(
                [sys.executable, "-c", script, str(path)], capture_output=True, check=True
            )
            size = path.stat().st_size
        verdict, f0_hz, peak, decoder, elapsed_s = json.loads(done.stdout)
        assert f0_hz is None or abs(f0_hz / F0_HZ - 1) < 1e-3
        print(
            f"| {clip.name} | {size / 1e6:.0f} | {peak / 1e6:.0f} | {decoder / 1e6:.0f} "
            f"| {elapsed_s:.0f} | {verdict} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
