"""From an empty notebook to a printed chart, the way a player goes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.tones import tone_wav

pytestmark = pytest.mark.browser

TUNING_A_HZ = 442.0
OFFSET_CENTS = 7.3
# D quarter-flat 5 is 7350 cents where A4 is 6900; a B-flat soprano sounds 200 cents lower
# (closed formula; the transposition is common practice).
TARGET_HZ = TUNING_A_HZ * 2 ** ((7350 - 200 - 6900) / 1200)
SOUNDED = tone_wav(TARGET_HZ * 2 ** (OFFSET_CENTS / 1200), duration_s=1.5)
SPELLINGS = (
    "D quarter-flat 5",
    "Dqf5",
    "D5 -50",
    "C#5+50c",
    "quarter tone above C#5",
    f"{TARGET_HZ:.2f} Hz",
)
NAME = "B-flat, invented"


def _press(page: Page, place: Locator) -> None:
    """Touch where there is touch, else click; and go where that leads."""
    with page.expect_navigation():
        _touch(page, place)


def _touch(page: Page, place: Locator) -> None:
    if page.evaluate("navigator.maxTouchPoints > 0"):
        place.tap()
    else:
        place.click()


def _unfold(page: Page, name: str) -> None:
    _touch(page, page.locator("summary", has_text=name))


def _link(page: Page, name: str) -> Locator:
    return page.get_by_role("link", name=name).first


def _button(page: Page, name: str) -> Locator:
    return page.get_by_role("button", name=name, exact=True)


def _add_instrument(page: Page, *, has_scripts: bool = True) -> None:
    _press(page, _link(page, "Add your instrument"))
    page.get_by_label("Name").fill(NAME)
    page.get_by_label("Tuning A (Hz)").fill("442")
    _press(page, _button(page, "Save"))
    # The first list lies on the stand; who knows a fingering already goes on to the notebook.
    expect(page.locator(".notice[data-kept]")).to_contain_text("Its first list lies on the stand.")
    if has_scripts:  # without them the stand is a page with the entries of the notebook
        _press(page, _link(page, "Leave the stand"))
    _press(page, page.get_by_role("navigation", name="Notebook").get_by_role("link", name="Log"))


def _set_keys_to_c_sharp(page: Page, *, has_scripts: bool = True) -> None:
    page.get_by_label("For the note").fill("D quarter-flat 5")
    page.get_by_label("Started from").select_option("ordinary:C#5:1")
    if not has_scripts:  # a script sets them at once
        _touch(page, _button(page, "Set the keys to it"))
    expect(page.locator("[data-keys-text]")).to_have_text("T R 123 | 123 | left F#")
    expect(page.get_by_label("Or type it")).to_have_value("T R 123 | 123 | left F#")
    assert page.get_by_label("For the note").input_value() == "D quarter-flat 5"
    # C#5 to D quarter-flat 5 goes up, so that is proposed; the player says otherwise.
    _unfold(page, "How it speaks, notes and tags")
    assert page.get_by_label("How", exact=True).input_value() == "raised"


def _keep_with_recording(page: Page) -> None:
    page.get_by_label("How", exact=True).select_option("combination")
    page.get_by_label("4 high").check()
    _unfold(page, "A recording you have already")
    page.get_by_label("Recording", exact=True).set_input_files(
        {"name": "quarter flat.wav", "mimeType": "audio/wav", "buffer": SOUNDED}
    )
    _press(page, _button(page, "Save"))


def _place_of(page: Page, site: Site) -> str:
    return page.url.removeprefix(site.origin).partition("#")[0]


def _read_offset(page: Page) -> float:
    return float(page.locator(".answer-number").inner_text().replace("−", "-"))


def _find_in_every_spelling(page: Page, spellings: Sequence[str], *, fingering_path: str) -> None:
    for spelling in spellings:
        _press(page, _link(page, "Quartervent"))
        page.get_by_label("Which note?").fill(spelling)
        _press(page, _button(page, "Find"))
        assert "/notes/" in page.url
        known = page.locator("section[aria-labelledby=known] .note-row")
        assert known.locator("h3 a").get_attribute("href") == fingering_path
        assert "+7.3" in known.locator(".row-line").inner_text()


def _download_chart(page: Page, folder: Path) -> str:
    _press(page, _link(page, "Charts"))
    _unfold(page, "Title, signs, and what stands on it")
    page.get_by_label("Title").fill("Slow quarter tones")
    with page.expect_download() as started:
        _touch(page, _button(page, "Make the PDF"))
    path = folder / "chart.pdf"
    started.value.save_as(path)
    assert started.value.suggested_filename.endswith(".pdf")
    with PdfReader(path) as reader:
        return "\n".join(each.extract_text() for each in reader.pages)


def _follow_evidence(
    page: Page, folder: Path, spellings: Sequence[str], *, fingering_path: str
) -> None:
    """What holds in both ways of going: the number, finding it again, the chart."""
    expect(page.get_by_role("heading", level=1)).to_have_accessible_name("D quarter-flat 5")
    assert abs(_read_offset(page) - OFFSET_CENTS) <= 0.5
    facts = page.locator(".entry-page").text_content() or ""
    assert "adds right E key (closes)" in facts
    assert "several changes" in facts
    assert "high, 4 of 5" in facts
    _find_in_every_spelling(page, spellings, fingering_path=fingering_path)
    printed = _download_chart(page, folder)
    assert "Slow quarter tones" in printed
    assert "D quarter-flat 5" in printed
    assert "+7.3" in printed


ALL_SPELLINGS = pytest.param(SPELLINGS, id="all spellings", marks=pytest.mark.long_run)


@pytest.mark.parametrize(
    "spellings", [pytest.param(SPELLINGS[2:3], id="one spelling"), ALL_SPELLINGS]
)
def test_on_a_phone_a_touched_and_recorded_fingering_is_measured_found_and_printed(
    visit: Visit, started_empty: Site, tmp_path: Path, spellings: Sequence[str]
) -> None:
    page = visit(started_empty).open("/")

    _add_instrument(page)
    _set_keys_to_c_sharp(page)
    page.locator('[data-hit="right-e"]').tap()
    assert page.locator("[data-keys-changes]").inner_text() == "+ right E"
    _keep_with_recording(page)

    _follow_evidence(page, tmp_path, spellings, fingering_path=_place_of(page, started_empty))


@pytest.mark.parametrize(
    "spellings", [pytest.param(SPELLINGS[-1:], id="another spelling"), ALL_SPELLINGS]
)
def test_without_scripts_the_same_path_goes_by_the_list_of_keys(
    visit: Visit, started_empty: Site, tmp_path: Path, spellings: Sequence[str]
) -> None:
    page = visit(started_empty, size=DESKTOP, has_scripts=False).open("/")

    _add_instrument(page, has_scripts=False)
    _set_keys_to_c_sharp(page, has_scripts=False)
    page.locator("#keys-right-e").check()
    _keep_with_recording(page)

    _follow_evidence(page, tmp_path, spellings, fingering_path=_place_of(page, started_empty))
