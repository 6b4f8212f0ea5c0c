"""Steady noise that begins while the page listens: a fan, breath, a road. None of it is a take."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Page, expect

from tests.browser.conftest import Launch, Visit
from tests.browser.made_sounds import cut, noise, rest, tone
from tests.browser.microphones import RATE_HZ, playing, write_notes
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

RATE = 48_000
COLOURS = ("white", "brown")


@pytest.mark.parametrize("colour", COLOURS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_fan_that_starts_is_no_take_and_the_room_from_then_on(
    page: Page, colour: str, seed: int
) -> None:
    found = cut(page, [rest(1), noise(-40, 40, colour)], noise_db=-75, seed=seed)
    assert found["notes"] == []
    assert found["noises"] and found["noises"][0] / RATE == pytest.approx(4, abs=0.1)
    assert len(found["noises"]) <= 2


@pytest.mark.parametrize("colour", COLOURS)
@pytest.mark.parametrize("s", [0.4, 1.0, 2.5])
def test_a_breath_is_no_take(page: Page, colour: str, s: float) -> None:
    found = cut(page, [rest(1), noise(-35, s, colour), rest(1)], noise_db=-75)
    assert found["notes"] == [] and len(found["noises"]) == 1


@pytest.mark.parametrize("from_s", [1.0, 2.95, 3.1, 8.0])
def test_a_note_played_in_the_noise_of_a_fan_is_kept_whole(page: Page, from_s: float) -> None:
    fan = noise(-50, 12, hz=440.0, toneDb=-25.0, fromS=from_s)
    found = cut(page, [rest(1), fan, rest(1)], noise_db=-75)
    (note,) = found["notes"]
    assert note["firstFrame"] / RATE < 1 + from_s
    assert note["lastFrame"] / RATE >= 1 + from_s + 0.98


@pytest.mark.parametrize("hz", [29.1, 58.3, 146.8, 466.2, 1975.5])
@pytest.mark.parametrize("s", [0.35, 4.0])
def test_a_tone_is_never_taken_for_noise(page: Page, hz: float, s: float) -> None:
    found = cut(page, [rest(1), tone(-35, s, hz), rest(0.6)], noise_db=-50)
    assert len(found["notes"]) == 1 and found["noises"] == []


def test_a_breathy_tone_is_a_note(page: Page) -> None:
    # the breath is as loud as the tone
    part = noise(-40, 1, hz=233.0, toneDb=-40.0, fromS=0.0)
    assert len(cut(page, [rest(1), part, rest(1)], noise_db=-75)["notes"]) == 1


@pytest.mark.parametrize("rate", [16_000, 44_100, 96_000])
def test_every_rate_will_do(page: Page, rate: int) -> None:
    parts = [rest(1), noise(-35, 1), rest(1), tone(-30, 0.5), rest(0.6)]
    found = cut(page, parts, rate=rate)
    assert len(found["noises"]) == len(found["notes"]) == 1


def _write_fan_and_note(path: Path) -> None:
    """A fan starts after 1.5 s and runs on; a note is played in it at 7.5 s."""
    samples = write_notes(path, [440.0], first_s=7.5)
    fan = 10 ** (-48 / 20) * np.random.default_rng(3).standard_normal(len(samples))
    fan[: round(1.5 * RATE_HZ)] = 0.0
    soundfile.write(path, samples + fan, RATE_HZ, subtype="PCM_16")


def test_the_page_says_that_noise_is_not_kept_and_keeps_the_note_after_it(
    written_in: Site, visit: Visit, launch: Launch, rows: Filled, tmp_path: Path
) -> None:
    path = tmp_path / "fan.wav"
    _write_fan_and_note(path)
    page = visit(written_in, browser=launch(*playing(path)), size=DESKTOP).open(
        f"/fingerings/{rows.base}"
    )

    page.get_by_role("button", name="Record takes").click()

    expect(page.locator("[data-recorder-state]")).to_have_text(
        "That was noise without a tone, and is not kept. Play a note.", timeout=15_000
    )
    assert page.locator("[data-take]").count() == 0
    expect(page.locator("[data-take].is-measured")).to_have_count(1, timeout=20_000)
