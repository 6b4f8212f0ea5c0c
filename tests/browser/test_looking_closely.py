"""The pictures of a take go with its sound; the notes of a long recording can be dragged on."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import evening_wav

pytestmark = pytest.mark.browser

READY = (
    "audio => new Promise(done => audio.readyState > 0 ? done() : (audio.onloadedmetadata = done))"
)
TIME = "audio => audio.currentTime"


def _cursor_x(plot: Locator) -> float:
    return float(plot.locator(".cursor").get_attribute("x1") or "nan")


def _time_at(plot: Locator, x: float) -> float:
    from_s, to_s, left, right = map(float, (plot.get_attribute("data-time") or "").split())
    return from_s + (x - left) / (right - left) * (to_s - from_s)


def _open_take(visit: Visit, site: Site, rows: Filled) -> Page:
    return visit(site).open(f"/takes/{rows.take}")


def test_touching_a_plot_seeks_and_moves_the_cursor_on_all(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _open_take(visit, looked_at, rows)
    trace, levels = page.locator("svg.trace"), page.locator("svg.levels")
    box = trace.bounding_box()
    assert box is not None
    trace.click(position={"x": box["width"] / 2, "y": box["height"] / 2})
    audio = page.locator("audio")
    audio.evaluate(READY)
    page.wait_for_function("() => document.querySelector('audio').currentTime > 0")
    time_s = audio.evaluate(TIME)
    assert time_s == pytest.approx(_time_at(trace, 180), abs=0.02)
    for plot in (trace, levels):
        assert _time_at(plot, _cursor_x(plot)) == pytest.approx(time_s, abs=0.02)


def test_the_keyboard_moves_through_the_recording(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _open_take(visit, looked_at, rows)
    slider = page.get_by_label("Place in the recording")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("PageUp")
    page.keyboard.press("ArrowRight")
    wanted = float(slider.input_value())
    assert wanted > 0.1
    expect(slider).to_have_attribute("aria-valuetext", f"{wanted:.2f} seconds")
    page.locator("audio").evaluate(READY)
    trace = page.locator("svg.trace")
    assert _time_at(trace, _cursor_x(trace)) == pytest.approx(wanted, abs=0.01)


def test_the_last_place_asked_for_stands_whenever_the_recording_is_there(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _open_take(visit, looked_at, rows)
    audio, slider = page.locator("audio"), page.get_by_label("Place in the recording")
    # HTML Standard, "media elements": the state is set, and a task that tells it is queued
    audio.evaluate(
        """(audio) => {
            audio.load = () => {};
            Object.defineProperty(audio, "preload", { value: "none", writable: true });
            Object.defineProperty(audio, "readyState", { value: 0, configurable: true });
            Object.defineProperty(audio, "currentTime", { value: 0, writable: true });
        }"""
    )
    slider.press("PageUp")
    audio.evaluate("(audio) => Object.defineProperty(audio, 'readyState', { value: 1 })")
    slider.press("PageUp")
    wanted = float(slider.input_value())
    for event in ("loadedmetadata", "seeked"):
        audio.dispatch_event(event)
    assert wanted > 0.1
    assert float(slider.input_value()) == audio.evaluate(TIME) == wanted


def test_the_cursor_runs_while_the_recording_plays(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _open_take(visit, looked_at, rows)
    audio, levels = page.locator("audio"), page.locator("svg.levels")
    before = _cursor_x(levels)
    audio.evaluate(
        """async (audio) => {
            audio.muted = true;
            const ended = new Promise((done) => audio.addEventListener("ended", done));
            await audio.play();
            await ended;
        }"""
    )
    page.wait_for_function(
        "least => Number(document.querySelector('svg.levels .cursor').getAttribute('x1')) > least",
        arg=before + 100,
    )


def test_without_scripts_the_pictures_are_there_and_no_dead_slider(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, has_scripts=False).open(f"/takes/{rows.take}")
    expect(page.locator("svg.levels")).to_be_visible()
    expect(page.get_by_label("Place in the recording")).to_be_hidden()
    page.get_by_role("link", name="Closer in time").click()
    expect(page.locator("svg.levels")).to_be_visible()
    assert "from=" in page.url


def test_a_fingering_is_dragged_onto_a_note(visit: Visit, looked_at: Site, rows: Filled) -> None:
    page = visit(looked_at, size=DESKTOP).open(f"/recordings/{rows.recording}")
    note = page.locator("[data-drop]").last
    select = note.locator("select")
    select.select_option("discard")
    page.locator("[data-drag]").first.drag_to(note)
    assert select.input_value() == page.locator("[data-drag]").first.get_attribute("data-drag")


def test_a_long_recording_is_sent_watched_and_kept(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = visit(written_in).open(f"/instruments/{rows.bass}/recordings")
    sound = evening_wav((180.0, 180.5, 311.0), seed=60)
    page.set_input_files("#clip", {"name": "a.wav", "mimeType": "audio/wav", "buffer": sound})
    page.get_by_role("button", name="Keep and split").click()
    # The page comes back by itself when the notes are found.
    expect(page.get_by_text("3 notes were found")).to_be_visible(timeout=60_000)
    page.get_by_role("button", name="Keep all as chosen").click()
    expect(page.get_by_text("Kept as a take").first).to_be_visible(timeout=60_000)
