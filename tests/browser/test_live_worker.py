"""The way through the worker: in real time, without the server, under load, and to its end."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page

from tests.analysis.recording.tones import Tone
from tests.browser.conftest import Visit
from tests.browser.live_sound import UNPACK, pack
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.javascript.tracking import Samples, as_readings

pytestmark = pytest.mark.browser

RATE_HZ = 48_000

# Chunks as a microphone brings them, each when its time has come; `agoS` is how long after the
# newest sample of a reading was pushed the reading was there.
HEAR = f"""async ([text, rate, chunkSize]) => {{
    const {{ LivePitch }} = await import("/static/js/sound/live-pitch.js");
    const samples = ({UNPACK})(text);
    const live = new LivePitch(rate);
    const readings = [];
    const startMs = performance.now();
    let pushed = 0;
    live.onReading = (reading) => readings.push({{ ...reading, heardS: pushed / rate }});
    await new Promise((resolve) => {{
        const timer = setInterval(() => {{
            const due = Math.min(samples.length, ((performance.now() - startMs) / 1000) * rate);
            for (; pushed + chunkSize <= due; pushed += chunkSize) {{
                const chunk = samples.slice(pushed, pushed + chunkSize);
                live.push(chunk, pushed);
                if (chunk.length !== chunkSize) throw new Error("the chunk was taken away");
            }}
            if (due < samples.length) return;
            clearInterval(timer);
            setTimeout(resolve, 200);
        }}, 5);
    }});
    const before = readings.length;
    live.close();
    live.close();
    live.push(samples.slice(0, 48000), pushed);
    await new Promise((resolve) => setTimeout(resolve, 150));
    return {{ readings, after: readings.length - before }};
}}"""


def _hear(page: Page, samples: Samples, chunk_size: int) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(HEAR, [pack(samples), RATE_HZ, chunk_size])
    return found


@pytest.mark.parametrize("chunk_size", [128, pytest.param(1024, marks=pytest.mark.long_run), 4096])
def test_a_note_is_read_while_it_sounds_whatever_the_size_of_chunks(
    visit: Visit, looked_at: Site, chunk_size: int
) -> None:
    page = visit(looked_at, size=DESKTOP).open("/about")
    tone = Tone(349.2, duration_s=1.3, sample_rate_hz=RATE_HZ, snr_db=40.0)

    found = _hear(page, tone.render(), chunk_size)

    readings = as_readings(found["readings"])
    off = readings.off_cents(349.2, 0.35, 1.3)
    assert off.size >= 8  # a busy machine may skip some of the thirty
    assert np.abs(off).max() < 0.5
    assert found["after"] == 0  # closed is closed


def test_pitch_needs_no_server_once_the_page_is_there(visit: Visit, looked_at: Site) -> None:
    visitor = visit(looked_at, size=DESKTOP)
    page = visitor.open("/about")
    page.evaluate("import('/static/js/sound/live-pitch.js').then(() => null)")
    page.wait_for_load_state("networkidle")
    visitor.context.set_offline(True)

    found = _hear(page, Tone(300.0, duration_s=0.8, sample_rate_hz=RATE_HZ).render(), 1024)

    assert np.abs(as_readings(found["readings"]).off_cents(300.0, 0.4, 0.8)).max() < 0.5


BURST = f"""async ([text, rate]) => {{
    const {{ LivePitch }} = await import("/static/js/sound/live-pitch.js");
    const samples = ({UNPACK})(text);
    const send = MessagePort.prototype.postMessage;
    let sent = 0;
    MessagePort.prototype.postMessage = function (...all) {{
        sent += 1;
        send.apply(this, all);
    }};
    const live = new LivePitch(rate);
    const times = [];
    live.onReading = ({{ timeS }}) => times.push(timeS);
    const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
    const quiet = async () => {{
        for (let known = -1; !times.length || times.length !== known; await wait(1000)) {{
            known = times.length;
        }}
    }};
    const step = Math.round(rate / 30);
    let at = 0;
    for (; at < 0.8 * samples.length; at += step) live.push(samples.slice(at, at + step), at);
    const sentInBurst = sent;
    // what was read of the burst is told: something came, and nothing more for a second
    await quiet();
    const toldInBurst = times.splice(0).length;
    for (; at < samples.length; at += step) {{
        live.push(samples.slice(at, at + step), at);
        await wait(25);
    }}
    await quiet();
    live.close();
    return [sentInBurst, toldInBurst, times[0] ?? null, times.at(-1) ?? null];
}}"""


def test_what_comes_too_fast_is_left_out_and_what_comes_then_is_read(
    visit: Visit, looked_at: Site
) -> None:
    page = visit(looked_at, size=DESKTOP).open("/about")
    samples = Tone(300.0, duration_s=9.8, sample_rate_hz=RATE_HZ).render()  # 10 s with its ends

    sent, told, first_s, last_s = page.evaluate(BURST, [pack(samples), RATE_HZ])

    assert sent <= 15  # of the 240 batches that eight seconds make: no queue grows
    assert told <= sent
    assert first_s is not None and first_s > 7.9  # nothing late is told
    assert last_s > 9.8


TWO = """async () => {
    const { LivePitch } = await import("/static/js/sound/live-pitch.js");
    const rates = [44100, 48000];
    const lives = rates.map((rate) => new LivePitch(rate));
    const heard = lives.map(() => []);
    lives.forEach((live, at) => { live.onReading = ({ f0Hz }) => heard[at].push(f0Hz); });
    for (let step = 0; step < 24; step += 1) {
        rates.forEach((rate, at) => {
            const size = Math.round(rate / 30);
            const turn = (2 * Math.PI * (200 + 100 * at)) / rate;
            const sine = (_, n) => Math.sin(turn * (step * size + n));
            lives[at].push(Float32Array.from({ length: size }, sine), step * size);
        });
        await new Promise((resolve) => setTimeout(resolve, 30));
    }
    await new Promise((resolve) => setTimeout(resolve, 200));
    lives.forEach((live) => live.close());
    return heard.map((all) => all.at(-1));
}"""


def test_two_streams_do_not_mix(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at, size=DESKTOP).open("/about")

    assert page.evaluate(TWO) == pytest.approx([200.0, 300.0], rel=1e-4)
