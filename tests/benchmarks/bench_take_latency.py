"""How long after a note ends its measured result is there, in chromium with a fake microphone.

Run by hand: `python -m tests.benchmarks.bench_take_latency`. The whole way counts: the audio
thread, the decision that the note is over, the outbox, the request, decoding in a child process,
measuring, the rows, the answer. A note ends with the last frame in which it is heard; that frame
reached the page when the first chunk behind it did (chunks are dated by the quickest of them, so
that a busy moment does not shift the zero). The time from the bell of the instrument to the page,
a few milliseconds of air and what the device buffers, comes on top and cannot be measured here.
"""

import os
import statistics
import sys
import tempfile
from contextlib import closing
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from tests.browser.microphones import playing, write_notes
from tests.browser.serving import serve_folder
from tests.tools import CHROMIUM_FLAGS, find_chromium
from tests.webapp.logging_rows import add_clarinet, log
from webapp.cli.background_imports import import_packages
from webapp.notebook.opening import open_notebook

NOTES = 24
LIMIT_MS = 300

PLAY = """async ([url, count]) => {
    const { Outbox } = await import("/static/js/sound/outbox.js");
    const { Recorder } = await import("/static/js/sound/recorder.js");
    const recorder = new Recorder({ outbox: await Outbox.open() });
    const ends = new Map();
    const found = [];
    let zero = Infinity; // when frame 0 was heard, by the quickest chunk
    const rate = () => recorder.microphone.sampleRate;
    await recorder.open();
    recorder.microphone.listen((chunk, first) => {
        zero = Math.min(zero, performance.now() - (first + chunk.length) / rate() * 1000);
    });
    recorder.addEventListener("note", ({ detail }) => {
        ends.set(detail.id, [detail.endFrame, performance.now()]);
    });
    const done = new Promise((resolve) => {
        recorder.addEventListener("result", ({ detail }) => {
            const [frame, cutAt] = ends.get(detail.id);
            const endedAt = zero + frame / rate() * 1000;
            found.push([cutAt - endedAt, performance.now() - endedAt]);
            if (found.length === count) resolve();
        });
    });
    recorder.arm({ url });
    await done;
    recorder.close();
    return found;
}"""


def _measure(folder: Path) -> list[list[float]]:
    with closing(open_notebook(folder / "notebook")) as notebook:
        fingering = log(notebook, add_clarinet(notebook), "D5 -50", "T R 123 | 12-")
    import_packages(("scipy.fft", "scipy.interpolate", "scipy.signal"))
    wav = folder / "notes.wav"
    write_notes(wav, [450.0 + 5 * number for number in range(NOTES)], note_s=0.6, rest_s=0.6)
    with sync_playwright() as playwright, serve_folder(folder / "notebook") as site:
        browser = playwright.chromium.launch(
            executable_path=find_chromium(), args=[*CHROMIUM_FLAGS, *playing(wav)]
        )
        page = browser.new_page()
        page.goto(f"{site.origin}/about")
        found: list[list[float]] = page.evaluate(
            PLAY, [f"/fingerings/{fingering}/takes.json", NOTES]
        )
        browser.close()
    return found


def _say(what: str, times_ms: list[float]) -> None:
    median, worst = statistics.median(times_ms), max(times_ms)
    print(f"{what:<28} median {median:4.0f} ms, worst {worst:4.0f} ms")


def main() -> int:
    """Measure and print; 1 if the promise is not kept."""
    with tempfile.TemporaryDirectory() as folder:
        found: list[Any] = _measure(Path(folder))
    print(f"{NOTES} notes; {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}")
    _say("note kept in the browser", [cut for cut, _ in found])
    _say("result on the page", [result for _, result in found])
    late = sum(result > LIMIT_MS for _, result in found)
    print(f"later than {LIMIT_MS} ms: {late} of {NOTES}")
    return int(late > 0)


if __name__ == "__main__":
    sys.exit(main())
