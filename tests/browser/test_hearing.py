"""By ear: reference tones and takes at one loudness, in a real browser."""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Page, expect

from analysis.recording import measure_take
from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.webapp.logging_rows import Filled
from tests.webapp.tones import tone_wav

pytestmark = pytest.mark.browser

LISTENS = """(area, isOpen) => area.dispatchEvent(
    new CustomEvent("microphone", { detail: { isOpen } }))"""
RENDER_TONE = """async ({ hz, wave, level, seconds }) => {
    const { Tone } = await import("/static/js/sound/tones.js");
    const context = new OfflineAudioContext(1, 48000 * seconds, 48000);
    const tone = new Tone(context);
    tone.start({ hz, wave, level });
    const rendered = await context.startRendering();
    const bytes = new Uint8Array(rendered.getChannelData(0).buffer);
    let text = "";
    for (let at = 0; at < bytes.length; at += 8192) {
        text += String.fromCharCode(...bytes.subarray(at, at + 8192));
    }
    return btoa(text);
}"""


def render(page: Page, hz: float, wave: str, *, level: float = 1.0, seconds: int = 2) -> np.ndarray:
    wish = {"hz": hz, "wave": wave, "level": level, "seconds": seconds}
    return np.frombuffer(base64.b64decode(page.evaluate(RENDER_TONE, wish)), dtype="<f4")


@pytest.mark.parametrize("wave", ["sine", "reed"])
@pytest.mark.parametrize("hz", [69.3, 233.08, 1396.9])
def test_a_tone_has_the_pitch_that_was_asked_for(page: Page, wave: str, hz: float) -> None:
    samples = render(page, hz, wave)

    measured = measure_take(samples[4800:], 48_000, expected_f0_hz=hz)

    assert measured.f0_hz is not None
    assert 1200 * np.log2(measured.f0_hz / hz) == pytest.approx(0, abs=0.02)


def test_a_tone_begins_softly_and_is_never_loud(page: Page) -> None:
    loud, soft = render(page, 440, "sine"), render(page, 440, "sine", level=0.5)

    assert np.abs(loud).max() == pytest.approx(0.25, abs=0.01)
    # Half way down the control is 18 dB: a factor of 10 ** (18 / 20).
    assert np.abs(soft[9600:]).max() == pytest.approx(0.25 / 10**0.9, rel=0.02)
    first = np.abs(loud[: 48 * 4]).max()  # 4 of 40 ms of attack
    assert 0 < first < 0.03


def test_one_tone_sounds_at_a_time_and_stops_when_pressed_again(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at).open(f"/search?q=a+major+third+above+F4&instrument={rows.soprano}")
    page.locator("summary", has_text="Hear it").click()
    tones = page.get_by_role("group", name="Reference tones")
    pressed = tones.locator('[aria-pressed="true"]')

    tones.get_by_role("button", name="Play F4").click()
    expect(pressed).to_have_count(1)
    tones.get_by_role("button", name="Both, 5:4").click()
    expect(pressed).to_have_text("Both, 5:4")
    page.locator("[data-wave]").select_option("sine")
    page.get_by_label("Loudness").fill("20")
    expect(pressed).to_have_text("Both, 5:4")
    tones.get_by_role("button", name="Both, 5:4").click()
    expect(pressed).to_have_count(0)


def test_two_takes_are_heard_equally_loud(visit: Visit, written_in: Site, rows: Filled) -> None:
    page = visit(written_in).open(f"/fingerings/{rows.base}")
    page.get_by_text("Attach a recording").click()
    page.set_input_files(
        "#clip", {"name": "soft.wav", "mimeType": "audio/wav", "buffer": softened(tone_wav(503.0))}
    )
    with page.expect_navigation():
        page.get_by_role("button", name="Measure and keep").click()
    page.get_by_role("tab", name="Sound").click()
    by_ear = page.get_by_role("group", name="Takes by ear")
    said = page.locator("[data-comparison-words]")

    by_ear.get_by_role("button", name="A and B in turn").click()
    # One of them was written at half the amplitude: 6 dB, and both are of one kind of tone.
    expect(said).to_contain_text("is turned down by 6.0 dB: both are equally loud now.")
    expect(page.locator("[data-sounding]")).to_have_count(1)
    by_ear.get_by_role("button", name="A against the tone").click()
    expect(said).to_contain_text("beats a second")
    by_ear.get_by_role("button", name="A against the tone").click()
    expect(said).to_have_text("")
    expect(page.locator('.hearing [aria-pressed="true"]')).to_have_count(0)


def test_a_changed_target_moves_the_tone(visit: Visit, looked_at: Site, rows: Filled) -> None:
    page = visit(looked_at).open(f"/fingerings/{rows.base}#sound")
    area = page.locator("[data-comparison-player]")

    area.evaluate(
        """area => area.dispatchEvent(
            new CustomEvent("target", { detail: { hz: 300, label: "another note" } }))"""
    )

    expect(area.get_by_role("button", name="Play another note")).to_be_visible()
    expect(area.locator("[data-tones]")).to_have_attribute("data-hz", "300")


def test_at_the_stand_a_tone_follows_the_target_and_gives_way_to_the_microphone(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at).open(f"/instruments/{rows.soprano}/stand?q=C%235+%2B25")
    page.get_by_text("By ear", exact=True).click()
    area = page.locator("[data-comparison-player]")
    pressed = area.locator('button[aria-pressed="true"]')
    said = area.get_by_role("status")

    area.get_by_role("button", name="Play its best take").click()
    expect(pressed).to_have_text("Play its best take")
    area.locator('[data-tone="target"]').click()
    expect(pressed).to_have_count(1)
    area.evaluate(LISTENS, True)
    expect(pressed).to_have_count(0)
    area.locator('[data-tone="target"]').click()
    expect(said).to_contain_text("The microphone would hear it.")
    area.get_by_label("I wear headphones").check()
    area.locator('[data-tone="target"]').click()
    expect(pressed).to_have_count(1)
    area.get_by_label("I wear headphones").uncheck()
    expect(pressed).to_have_count(0)


def test_a_clip_that_is_gone_is_said_in_words(visit: Visit, looked_at: Site, rows: Filled) -> None:
    visitor = visit(looked_at)
    page = visitor.open(f"/fingerings/{rows.base}#sound")
    page.locator('[data-side="A"] option').first.evaluate("option => { option.value = '/gone'; }")

    page.get_by_role("group", name="Takes by ear").get_by_role(
        "button", name="Play A", exact=True
    ).click()

    expect(page.locator("[data-comparison-words]")).to_contain_text("cannot be fetched")
    expect(page.locator('.hearing [aria-pressed="true"]')).to_have_count(0)


def softened(sound: bytes) -> bytes:
    """The same sound at half the amplitude."""
    samples, rate_hz = soundfile.read(io.BytesIO(sound))
    written = io.BytesIO()
    soundfile.write(written, samples / 2, rate_hz, format="WAV", subtype="FLOAT")
    return written.getvalue()
