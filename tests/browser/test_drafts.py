"""What was typed is not lost: by leaving, closing, reloading, or when a page fails."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Dialog, Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.test_access import VIEWS, check_everywhere
from tests.browser.visiting import Visitor
from tests.webapp.logging_rows import Filled
from webapp.guards.uploads import CLIP_LIMIT_BYTES

pytestmark = pytest.mark.browser

OFFER = "What you entered here last was not kept in the notebook."
DRAFTS = "Object.keys(localStorage).filter(name => name.startsWith('draft:'))"


def _open_log(visitor: Visitor, rows: Filled) -> Page:
    return visitor.open(f"/instruments/{rows.soprano}/fingerings/new")


def _enter(page: Page) -> None:
    page.fill("#target", "A5 -50")
    page.locator("details:has(#notes)").evaluate("each => { each.open = true; }")
    page.fill("#notes", "Try with the thumb half off.")
    page.locator('[data-hit="l1"]').tap()
    page.get_by_label("3 noticeable").check()


def _assert_entered(page: Page) -> None:
    assert page.input_value("#target") == "A5 -50"
    assert page.input_value("#notes") == "Try with the thumb half off."
    assert page.locator("[data-keys-text]").inner_text() == "1-- | ---"
    assert page.get_by_label("3 noticeable").is_checked()


def _offers(page: Page) -> int:
    return page.locator(".notice", has_text=OFFER).count()


def _answer_dialogs(page: Page, answers: Sequence[bool] = (True,)) -> list[str]:
    """Answer what the browser asks, the last way from then on; return the list of what it asked."""
    asked: list[str] = []

    def answer(dialog: Dialog) -> None:
        is_leaving = answers[min(len(asked), len(answers) - 1)]
        asked.append(dialog.type)
        if is_leaving:
            dialog.accept()
        else:
            dialog.dismiss()

    page.on("dialog", answer)
    return asked


def test_what_was_entered_is_offered_again_after_closing_or_a_failure_and_can_be_forgotten(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    visitor = visit(looked_at)
    page = _open_log(visitor, rows)
    _enter(page)
    visitor.close(page)

    later = _open_log(visitor, rows)
    assert later.input_value("#target") == ""
    assert check_everywhere(later, VIEWS[1:]) == {}
    later.get_by_role("button", name="Bring it back").tap()

    _assert_entered(later)
    assert _offers(later) == 0
    later.locator("[name=csrf_token]").first.evaluate("field => { field.value = 'old'; }")
    with later.expect_navigation():
        later.get_by_role("button", name="Save").tap()
    assert later.locator("h1").inner_text() == "Not understood"
    visitor.close(later)

    failed = _open_log(visitor, rows)
    failed.get_by_role("button", name="Bring it back").tap()
    _assert_entered(failed)
    visitor.close(failed)

    last = _open_log(visitor, rows)
    last.get_by_role("button", name="Forget it").tap()
    assert last.evaluate(DRAFTS) == []
    assert _offers(_open_log(visitor, rows)) == 0


def test_leaving_or_reloading_with_something_entered_is_asked_about_first(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    visitor = visit(looked_at, is_alone=True)
    page = _open_log(visitor, rows)
    asked = _answer_dialogs(page, answers=[False, True])
    page.get_by_role("link", name="Quartervent").tap()
    page.wait_for_url("**:*/")
    page.go_back()
    _enter(page)

    with page.expect_event("dialog"):
        page.get_by_role("link", name="Quartervent").tap(no_wait_after=True)

    assert asked == ["beforeunload"]
    _assert_entered(page)
    page.reload()
    assert asked == ["beforeunload"] * 2
    page.get_by_role("button", name="Bring it back").tap()
    _assert_entered(page)

    # setting the keys keeps nothing, so the draft and the question stay
    page.select_option("#base", "ordinary:C#5:1")
    page.get_by_role("button", name="Set the keys to it").tap()
    expect(page.locator("[data-keys-text]")).to_have_text("T R 123 | 123 | left F#")
    assert asked == ["beforeunload"] * 2
    page.get_by_role("link", name="Quartervent").tap()
    page.wait_for_url("**:*/")
    assert asked == ["beforeunload"] * 3
    later = _open_log(visitor, rows)
    later.get_by_role("button", name="Bring it back").tap()
    assert later.input_value("#notes") == "Try with the thumb half off."
    assert later.locator("[data-keys-text]").inner_text() == "T R 123 | 123 | left F#"


def test_a_refused_entry_is_asked_about_and_once_kept_there_is_no_draft_and_no_question(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    visitor = visit(written_in, is_alone=True)
    page = _open_log(visitor, rows)
    asked = _answer_dialogs(page, answers=[False])
    _enter(page)
    assert page.evaluate(DRAFTS) != []
    page.fill("#target", "A")
    with page.expect_navigation():
        page.get_by_role("button", name="Save").tap()

    assert page.locator("#target-error").count() == 1
    assert page.input_value("#notes") == "Try with the thumb half off."
    assert _offers(page) == 0
    page.get_by_label("For the note").tap()  # a browser asks only after a touch
    with page.expect_event("dialog"):
        page.get_by_role("link", name="Quartervent").tap(no_wait_after=True)
    assert asked == ["beforeunload"]

    page.fill("#target", "A5 -50")
    with page.expect_navigation():
        page.get_by_role("button", name="Save").tap()
    expect(page.locator("h1")).to_have_accessible_name("A quarter-flat 5")
    assert page.evaluate(DRAFTS) == []
    assert _offers(_open_log(visitor, rows)) == 0
    assert asked == ["beforeunload"]


def test_a_recording_that_is_too_large_is_named_before_it_is_sent(
    visit: Visit, looked_at: Site, rows: Filled, tmp_path: Path
) -> None:
    huge = tmp_path / "whole rehearsal.wav"
    with huge.open("wb") as file:
        file.truncate(CLIP_LIMIT_BYTES + 1)
    visitor = visit(looked_at, keeps_requests=True)
    page = visitor.open(f"/fingerings/{rows.base}")

    page.get_by_text("Attach a recording").click()
    page.set_input_files("#clip", huge)
    message = page.locator("#clip").evaluate("field => field.validationMessage")
    page.evaluate(
        "addEventListener('invalid', () => { window.isRefused = true; }, { capture: true })"
    )
    page.get_by_role("button", name="Measure and keep").tap()
    page.wait_for_function("window.isRefused")

    assert message == "This file has 64.0 MB; a take may have up to 64 MB. Cut it to the held note."
    assert [each.method for each in visitor.requests if each.method != "GET"] == []


def test_the_page_says_that_it_is_sending_and_measuring(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = _open_log(visit(written_in), rows)
    _enter(page)
    page.set_input_files(
        "#clip", {"name": "letter.wav", "mimeType": "audio/wav", "buffer": b"Dear reader"}
    )
    # The page stays, so that what it says can be read.
    page.evaluate("document.forms[0].addEventListener('submit', (e) => e.preventDefault())")

    page.get_by_role("button", name="Save").tap()

    assert page.locator("[data-upload-state]").inner_text() == "Sending and measuring…"


def test_choosing_what_it_came_from_sets_the_keys_and_keeps_the_chosen_recording(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _open_log(visit(looked_at), rows)
    page.set_input_files("#clip", {"name": "held.wav", "mimeType": "audio/wav", "buffer": b"RIFF"})
    page.fill("#target", "D quarter-flat 5")

    page.select_option("#base", "ordinary:C#5:1")

    expect(page.locator("[data-keys-text]")).to_have_text("T R 123 | 123 | left F#")
    expect(page.locator("#strategy")).to_have_value("raised")
    assert page.locator("#clip").evaluate("field => field.files[0].name") == "held.wav"


def test_a_choice_throws_no_touched_keys_away(visit: Visit, looked_at: Site, rows: Filled) -> None:
    visitor = visit(looked_at, keeps_requests=True)
    page = _open_log(visitor, rows)
    page.locator('[data-hit="thumb"]').tap()
    touched = page.locator("[data-keys-text]").inner_text()
    page.wait_for_load_state("networkidle")
    asked = len(visitor.requests)

    page.select_option("#base", "ordinary:C#5:1")
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")

    assert len(visitor.requests) == asked  # setting the keys would ask for them
    assert page.locator("[data-keys-text]").inner_text() == touched
