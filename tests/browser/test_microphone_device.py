"""The way from the device: what chromium's fake microphone plays is what the page has.

Truth: the file that it plays, sample by sample; pitches by formula. The fake device scales 16-bit
steps by 1/32767, which is 1/32768 in the file: a difference of 3e-5 of each sample, or 0.0003 dB. A
busy machine's browser may lose some of the sound: then the microphone is opened again.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Browser

from analysis.recording import measure_take
from tests.browser.conftest import Visit
from tests.browser.microphones import RATE_HZ
from tests.browser.recording_takes import (
    CENTS,
    PLAYED_HZ,
    TARGET_HZ,
    clip_of,
    place_of,
    start_recording,
    takes_of,
    wait_until_sent,
)
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.javascript.tracking import as_readings
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

AUDIBLE = 0.01  # of full scale; the room of the fake microphone is far below
# The context that hears, so that a test can tell how much of the file was played.
SHOW_CONTEXT = """(() => {
    const Real = window.AudioContext;
    window.AudioContext = class extends Real {
        constructor(...options) { super(...options); window.heard = this; }
    };
})()"""
OPENINGS = 5


def test_what_the_device_gives_is_kept_sample_by_sample(
    written_in: Site,
    visit: Visit,
    hearing: Browser,
    folder: Path,
    rows: Filled,
    played: tuple[Path, NDArray[np.float32]],
) -> None:
    visitor = visit(written_in, browser=hearing, size=DESKTOP)
    visitor.add_script(SHOW_CONTEXT)
    page = visitor.open(f"/fingerings/{rows.base}")
    source = played[1]
    whole: set[int] = set()
    for _ in range(OPENINGS):  # a busy machine's browser may lose some of a note: played again
        start_recording(page)
        end_s = len(source) / RATE_HZ
        page.wait_for_function("end => window.heard?.currentTime > end", arg=end_s)
        page.get_by_role("button", name="Stop", exact=True).click()
        wait_until_sent(page)
        whole |= {
            number
            for take_id in takes_of(page)
            for number in whole_in(clip_of(folder, take_id), source)
        }
        if len(whole) == len(CENTS):
            break
    assert whole == set(range(len(CENTS)))


def whole_in(sound: NDArray[np.float32], source: NDArray[np.float32]) -> set[int]:
    """Which of the notes a take holds as the device gave it, sample by sample: one at most."""
    place = place_of(sound, source)
    same = source[place : place + len(sound)]
    loud = np.flatnonzero(np.abs(same) > AUDIBLE)
    if len(same) < len(sound) or loud[-1] < 0.6 * RATE_HZ:
        return set()
    note, source_note = sound[: loud[-1]], same[: loud[-1]]  # what is lost of a rest is no matter
    if np.abs(note - source_note).max() >= 2**-15:
        return set()
    assert np.sqrt(np.mean(note**2) / np.mean(source_note**2)) == pytest.approx(1, abs=1e-4)
    (number,) = [number for number, cents in enumerate(CENTS) if abs(offset_of(same) - cents) < 1.0]
    assert offset_of(sound) == pytest.approx(offset_of(same), abs=0.001)
    assert offset_of(sound) == pytest.approx(CENTS[number], abs=0.05)
    return {number}


def offset_of(sound: NDArray[np.float32]) -> float:
    """Where a note of the device sounds, in cents from the target."""
    heard_hz = measure_take(sound, RATE_HZ, expected_f0_hz=TARGET_HZ).f0_hz
    assert heard_hz is not None
    return float(1200 * np.log2(heard_hz / TARGET_HZ))


LISTEN = """async () => {
    const { openMicrophone } = await import("/static/js/sound/microphone.js");
    const { LivePitch } = await import("/static/js/sound/live-pitch.js");
    const microphone = await openMicrophone();
    const live = new LivePitch(microphone.sampleRate);
    const readings = [];
    live.onReading = (reading) => readings.push(reading);
    const stop = microphone.listen((chunk, firstFrame) => live.push(chunk, firstFrame));
    await new Promise((resolve) => setTimeout(resolve, 4000));
    stop();
    live.close();
    microphone.close();
    return readings;
}"""


def test_a_microphone_that_hears_notes_shows_their_pitch(
    visit: Visit, looked_at: Site, hearing: Browser
) -> None:
    page = visit(looked_at, browser=hearing, size=DESKTOP).open("/about")
    told: NDArray[np.float64] = np.empty(0)
    for _ in range(OPENINGS):
        f0_hz = as_readings(page.evaluate(LISTEN)).f0_hz
        told = np.concatenate([told, f0_hz[np.isfinite(f0_hz)]])
        if told.size > 20:
            break
    assert told.size > 20
    off_cents = 1200 * np.log2(told / np.array(PLAYED_HZ)[:, None])
    assert np.median(np.abs(off_cents).min(axis=0)) < 1.0


def test_what_a_browser_does_to_the_sound_all_the_same_is_said(
    visit: Visit, hearing: Browser, looked_at: Site
) -> None:
    page = visit(looked_at, browser=hearing, size=DESKTOP).open("/about")

    clean, changed, names = page.evaluate(
        """async () => {
            const { openMicrophone, listMicrophones } =
                await import("/static/js/sound/microphone.js");
            const clean = await openMicrophone();
            const names = await listMicrophones();
            clean.close();
            const settings = MediaStreamTrack.prototype.getSettings;
            MediaStreamTrack.prototype.getSettings = function () {
                return { ...settings.call(this), autoGainControl: true, noiseSuppression: true };
            };
            const changed = await openMicrophone({ deviceId: names[1].deviceId });
            changed.close();
            return [clean.processing, changed.processing, names];
        }"""
    )

    assert clean == []
    assert changed == ["noise suppression", "automatic gain"]
    assert len(names) >= 2
    assert all(each["deviceId"] and each["label"] for each in names)
