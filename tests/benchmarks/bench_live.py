"""Live pitch: how far from the server's measurement, how late, how long it takes.

Run by hand from the checkout: `python -m tests.benchmarks.bench_live [--clips N]`. Clips are
synthetic and seeded (`tests/analysis/recording/tones.py`), and real where the test command has
fetched them.
Agreement: the median of the readings over the server's steady part, against the server's median.
Single readings: against the pitch known by formula at the same moment, the attack left out.
Cost: one reading in the worker of a page, as the worker's own clock has it (steps of 0.1 ms).
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
from playwright.sync_api import Page, sync_playwright

from analysis.recording import decode_clip, measure_take
from tests import recordings
from tests.analysis.recording.sounds import Played, play, speak
from tests.analysis.recording.tones import Tone
from tests.browser.live_sound import UNPACK, pack
from tests.browser.serving import serve_folder
from tests.browser.visiting import DESKTOP, make_visitor
from tests.javascript.node import Node, find_node
from tests.javascript.tracking import Samples, track
from tests.tools import CHROMIUM_FLAGS, find_chromium

BANDS_HZ = ((58.0, 150.0), (150.0, 400.0), (400.0, 900.0), (900.0, 1900.0))
RATES_HZ = (44_100.0, 48_000.0)
PLAYED = Tone(440.0, wander_cents=0.8, amplitude_jitter=0.015, scoop_cents=30.0)
CONDITIONS: Mapping[str, Tone] = {
    "60 dB": replace(PLAYED, snr_db=60.0),
    "40 dB": replace(PLAYED, snr_db=40.0),
    "20 dB": replace(PLAYED, snr_db=20.0),
    "10 dB": replace(PLAYED, snr_db=10.0),
    "20 dB pink": replace(PLAYED, snr_db=20.0, is_noise_pink=True),
    "reverberation, 40 dB": replace(PLAYED, snr_db=40.0, reverb_s=0.8),
    "vibrato 20, 30 dB": replace(PLAYED, snr_db=30.0, vibrato_cents=20.0),
}
GROSS_CENTS = 50.0

COST = f"""async ([text, rate]) => {{
    const {{ LivePitch }} = await import("/static/js/sound/live-pitch.js");
    const samples = ({UNPACK})(text);
    const live = new LivePitch(rate);
    const step = Math.round(rate / 30);
    const took = [];
    for (let at = 0; at + step <= samples.length; at += step) {{
        const told = new Promise((resolve) => {{
            live.onReading = ({{ tookMs }}) => resolve(took.push(tookMs));
            setTimeout(resolve, 60);
        }});
        live.push(samples.slice(at, at + step), at);
        await told;
    }}
    live.close();
    return took;
}}"""


@contextmanager
def open_page() -> Iterator[Page]:
    """A page of an empty notebook, from which the modules are imported."""
    with (
        tempfile.TemporaryDirectory() as folder,
        sync_playwright() as playwright,
        serve_folder(Path(folder) / "notebook") as site,
    ):
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=CHROMIUM_FLAGS)
        yield make_visitor(browser, site, size=DESKTOP).open("/about")
        browser.close()


def make_clips(condition: str, band: tuple[float, float], count: int) -> Iterator[Tone]:
    """Seeded clips of one condition in one band."""
    rng = np.random.default_rng([9, *condition.encode(), round(band[0])])
    for at in range(count):
        yield replace(
            CONDITIONS[condition],
            f0_hz=float(band[0] * (band[1] / band[0]) ** rng.uniform()),
            duration_s=2.0,
            sample_rate_hz=RATES_HZ[at % 2],
            seed=2000 + at,
        )


def print_agreement(node: Node, count: int) -> None:
    """How far readings lie from the server, and from the truth."""
    print("| tone | Hz | median c | worst c | single 95% c | told | gross |")
    print("|---|---|---|---|---|---|---|")
    for condition in CONDITIONS:
        for band in BANDS_HZ:
            print_band(node, condition, band, count)


def print_band(node: Node, condition: str, band: tuple[float, float], count: int) -> None:
    """One row of the table."""
    medians, singles, told, gross = [], [], [], 0
    for tone in make_clips(condition, band, count):
        samples = tone.render().astype(np.float32)
        take = measure_take(samples, tone.sample_rate_hz)
        assert take.f0_hz and take.steady_from_s and take.steady_to_s
        readings = track(node, samples, tone.sample_rate_hz)
        off = readings.off_cents(take.f0_hz, take.steady_from_s, take.steady_to_s)
        medians.append(abs(float(np.median(off))))
        gross += int(np.count_nonzero(np.abs(off) > GROSS_CENTS))
        inside = (readings.times_s > 0.5) & (readings.times_s < take.steady_to_s)
        times_s, f0_hz = readings.times_s[inside], readings.f0_hz[inside]
        told.append(float(np.isfinite(f0_hz).mean()))
        truth = tone.pitch_cents(times_s)
        singles += list(np.abs(1200 * np.log2(f0_hz / tone.f0_hz) - truth)[np.isfinite(f0_hz)])
    print(
        f"| {condition} | {band[0]:.0f}-{band[1]:.0f} | {np.median(medians):.3f} "
        f"| {max(medians):.3f} | {np.percentile(singles, 95):.3f} | {100 * np.mean(told):.0f}% "
        f"| {gross} |",
        flush=True,
    )


def print_real(node: Node) -> None:
    """The same for the recordings that the test command fetches."""
    print("\n| real note | Hz | off the server c | single 95% c | told |\n|---|---|---|---|---|")
    for note in recordings.find():
        clip = decode_clip(note)
        take = measure_take(clip.samples, clip.sample_rate_hz)
        assert take.f0_hz and take.steady_from_s and take.steady_to_s
        readings = track(node, clip.samples, clip.sample_rate_hz)
        off = readings.off_cents(take.f0_hz, take.steady_from_s, take.steady_to_s)
        inside = (readings.times_s > take.steady_from_s) & (readings.times_s < take.steady_to_s)
        told = np.isfinite(readings.f0_hz[inside]).mean()
        print(
            f"| {note.stem} | {take.f0_hz:.1f} | {np.median(off):+.3f} "
            f"| {np.percentile(np.abs(off), 95):.2f} | {100 * told:.0f}% |",
            flush=True,
        )


def print_delays(node: Node) -> None:
    """How long after a change of note the first reading near the new one was there."""
    print("\n| from Hz | step c | pitch told after s | number after s |\n|---|---|---|---|")
    for f0_hz in (62.0, 147.0, 440.0, 1200.0):
        for step_cents in (50.0, 100.0, 700.0):
            next_hz = f0_hz * 2 ** (step_cents / 1200)
            samples = play([Played(f0_hz), Played(next_hz, gap_s=0.0)])
            readings = track(node, samples, 44_100.0, step_s=0.01)
            waits = []
            for hz in (readings.f0_hz, readings.held_hz):
                near = (np.abs(1200 * np.log2(hz / next_hz)) < 10) & (readings.times_s > 1.35)
                waits.append(float(readings.heard_s[near][0]) - 1.4)
            print(f"| {f0_hz:.0f} | {step_cents:.0f} | {waits[0]:.2f} | {waits[1]:.2f} |")


def print_talk(node: Node, count: int) -> None:
    """How much of made speech has a pitch."""
    shares = [
        track(node, speak(seed, seconds=5.0, voice_hz=90.0 + 20 * (seed % 9)), 44_100.0)
        for seed in range(count)
    ]
    told = [readings.told_share() for readings in shares]
    print(f"\nTalk with a pitch: mean {100 * np.mean(told):.1f}%, worst {100 * max(told):.1f}%.")


def print_cost(page: Page) -> None:
    """How long one reading takes in the worker."""
    print("\n| note Hz | rate | median ms | worst 1% ms |\n|---|---|---|---|")
    for f0_hz in (58.0, 147.0, 440.0, 1400.0):
        for rate_hz in (*RATES_HZ, 96_000.0):
            samples: Samples = Tone(f0_hz, duration_s=12.0, sample_rate_hz=rate_hz).render()
            took = page.evaluate(COST, [pack(samples), rate_hz])[30:]
            median, high = np.percentile(took, (50, 99))
            print(f"| {f0_hz:.0f} | {rate_hz:.0f} | {median:.1f} | {high:.1f} |", flush=True)


def main() -> None:
    """Print all tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=8, help="clips per condition and band")
    arguments = parser.parse_args()
    with open_page() as page:
        print_cost(page)
    print()
    with closing(Node(find_node())) as node:
        print_agreement(node, arguments.clips)
        print_real(node)
        print_delays(node)
        print_talk(node, 2 * arguments.clips)


if __name__ == "__main__":
    main()
