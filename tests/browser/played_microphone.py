"""A microphone that hears what a test plays, when the test plays it, and loses nothing.

It stands in for the device and the audio thread: the page's own code begins where samples arrive,
in chunks as `capture.js` hands them over. Chromium's fake device goes by the clock and plays one
file from its beginning, and a busy machine loses some of it, so takes cannot be counted there: it
is for tests of the way from the device (`microphones`). This one is for everything after that, and
costs no waiting.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from playwright.sync_api import Page

from tests.analysis.recording.tones import Tone
from tests.browser.live_sound import UNPACK, pack

RATE_HZ = 48_000
FASTER = 4.0
"""How many seconds of sound are played in one: the live pitch still follows."""

# Media Capture and Streams, Web Audio (W3C): as much of both as `microphone.js` asks for. A context
# that sounds, and does not hear, is the browser's own.
MICROPHONE = f"""(() => {{
    const [rate, chunkFrames] = [{RATE_HZ}, 512];
    const hearing = new Set();
    class Track extends EventTarget {{
        label = "Played by the test";
        readyState = "live";
        getSettings = () => ({{ deviceId: "played", sampleRate: rate }});
        stop() {{ this.readyState = "ended"; }}
    }}
    class Context extends EventTarget {{
        sampleRate = rate;
        state = "running";
        audioWorklet = {{ addModule: async () => {{}} }};
        createMediaStreamSource = () => ({{ connect: (node) => node, disconnect: () => {{}} }});
        async close() {{ this.state = "closed"; }}
        // a passage is counted in with clicks on the same context: they are not heard
        currentTime = 0;
        createOscillator = () =>
            ({{ frequency: {{}}, connect: (node) => node, start() {{}}, stop() {{}} }});
        createGain = () => ({{
            gain: {{ setValueAtTime() {{}}, exponentialRampToValueAtTime() {{}} }},
            connect: (node) => node,
        }});
    }}
    class Node {{
        frame = 0;
        port = {{ onmessage: null, postMessage: () => hearing.delete(this) }};
        constructor() {{ hearing.add(this); }}
        connect() {{}}
    }}
    window.AudioContext = new Proxy(window.AudioContext, {{
        construct: (Real, [wanted]) =>
            wanted?.sampleRate === rate ? new Context() : new Real(wanted),
    }});
    window.AudioWorkletNode = Node;
    navigator.mediaDevices.getUserMedia = async () => {{
        const track = new Track();
        return {{ getTracks: () => [track], getAudioTracks: () => [track] }};
    }};
    const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
    window.hear = async (text, faster) => {{
        const samples = ({UNPACK})(text);
        while (![...hearing].some((node) => node.port.onmessage)) await pause(5);
        const startMs = performance.now();
        for (let at = 0; at < samples.length; at += chunkFrames) {{
            while (at > ((performance.now() - startMs) / 1000) * rate * faster) await pause(5);
            for (const node of hearing) {{
                const chunk = samples.slice(at, at + chunkFrames);
                node.port.onmessage({{ data: {{ samples: chunk, firstFrame: node.frame }} }});
                node.frame += chunk.length;
            }}
        }}
    }};
}})()"""


@cache
def tone(
    hz: float, *, duration_s: float = 0.7, peak: float = 0.3, seed: int = 1
) -> NDArray[np.float64]:
    """A held note by formula, without silence; at most 0.3 of full scale is a metre away."""
    made = Tone(hz, duration_s=duration_s, sample_rate_hz=RATE_HZ, silence_s=0.0, seed=seed)
    samples = np.asarray(made.render())
    return np.asarray(np.clip(samples * peak / np.abs(samples).max(), -1, 1), np.float64)


def rest(seconds: float) -> NDArray[np.float64]:
    """Silence."""
    return np.zeros(round(seconds * RATE_HZ))


def take(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """A sound with the silence before it and after it that makes it one take."""
    return np.concatenate([rest(0.5), sound, rest(0.3)])


def play(page: Page, sounds: Sequence[NDArray[np.float64]], *, faster: float = FASTER) -> None:
    """Play sounds one after the other, as soon as the page listens."""
    page.evaluate("([text, faster]) => hear(text, faster)", [pack(np.concatenate(sounds)), faster])
