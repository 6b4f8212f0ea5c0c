"""The stand by keys and buttons: where one is, what a key asks for, a microphone that fails."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.standing import begin, forgive_being_offline, heading, to_the_stand
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import listed
from webapp.notebook.opening import open_notebook

pytestmark = pytest.mark.browser


def test_watch_and_its_hint_are_remembered_and_work_where_storage_is_refused(
    looked_at: Site, visit: Visit, rows: Filled
) -> None:
    visitor = visit(looked_at, size=DESKTOP)
    path = f"/fingerings/{rows.base}/stand"
    page = visitor.open(path)
    watch, hint = page.get_by_role("button", name="Watch"), page.locator("[data-watch-hint]")
    expect(watch).to_have_attribute("aria-pressed", "false")
    expect(hint).to_contain_text("mends the note with the lip")
    hint.get_by_role("button").press("Enter")
    expect(hint).to_be_hidden()
    expect(watch).to_be_focused()
    page.reload()
    expect(watch).to_have_attribute("aria-pressed", "false")
    expect(hint).to_be_hidden()
    watch.press("Space")
    expect(watch).to_have_attribute("aria-pressed", "true")
    expect(watch).to_contain_text("on")
    expect(page.locator("[data-said]")).to_contain_text("Watching")
    page.reload()
    expect(watch).to_have_attribute("aria-pressed", "true")

    visitor.add_script(
        """Object.defineProperty(window, "localStorage", {
            get() { throw new DOMException("no", "SecurityError"); },
        });"""
    )
    page.reload()
    expect(watch).to_have_attribute("aria-pressed", "false")
    watch.click()
    expect(watch).to_have_attribute("aria-pressed", "true")


def test_done_goes_on_to_the_next_and_says_when_the_server_is_away(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    practice = begin(folder, rows)
    visitor = visit(written_in, is_suggested_to=False, size=DESKTOP)
    page = to_the_stand(visitor, practice)
    done = page.locator(".stand-item:not([hidden]) [data-settle-to=done] button")
    visitor.context.set_offline(True)
    done.click()
    expect(page.get_by_role("alert")).to_contain_text("does not answer, so this was not noted")
    expect(heading(page)).to_have_accessible_name("D quarter-flat 5")
    visitor.context.set_offline(False)
    done.click()
    expect(heading(page)).to_have_accessible_name("C sharp 5, 25 cents higher")
    expect(page.locator(".stand-listen")).to_be_focused()  # the button pressed is hidden now
    with closing(open_notebook(folder)) as notebook:
        assert [row.state for row in listed(notebook, practice)] == ["done", "open"]
    page.reload()
    expect(heading(page)).to_have_accessible_name("C sharp 5, 25 cents higher")
    page.keyboard.press("ArrowLeft")
    expect(page.locator(".stand-item:not([hidden]) [data-state-words]")).to_have_text("done")
    forgive_being_offline(visitor)


def test_keys_do_nothing_while_somebody_types(written_in: Site, visit: Visit, rows: Filled) -> None:
    page = visit(written_in, size=DESKTOP).open(f"/instruments/{rows.soprano}/stand?q=D5+-50")
    expect(page.locator(".stand.is-live")).to_be_visible()
    shown = page.locator(".stand-candidate:not([hidden]) .keys-text")
    before = shown.inner_text()
    page.focus("#q")
    for key in ("ArrowDown", "PageDown", "Space", "ArrowRight"):
        page.keyboard.press(key)
    assert page.input_value("#q") == "D5 -50 "
    assert shown.inner_text() == before
    expect(page.locator("[data-listen-words]")).to_have_text("Listen")
    page.locator(".stand-name h2").click()
    page.keyboard.press("ArrowDown")
    assert shown.inner_text() != before


def test_the_ends_of_the_list_are_said_and_the_buttons_do_what_the_keys_do(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    page = to_the_stand(visit(written_in, is_suggested_to=False, size=DESKTOP), begin(folder, rows))
    page.keyboard.press("PageUp")
    expect(page.locator("[data-said]")).to_have_text("There is no other note that way.")
    back = page.locator("[data-do=previous-target]")
    expect(back).to_have_attribute("aria-disabled", "true")
    page.locator("[data-do=next-target]").click()
    expect(heading(page)).to_have_accessible_name("C sharp 5, 25 cents higher")
    expect(back).to_have_attribute("aria-disabled", "false")
    page.locator("[data-do=next-candidate]").click()
    expect(page.locator("[data-said]")).to_contain_text("Fingering 2 of 3")


READ = """async ([key, more, html]) => {
    const { readKey } = await import("/static/js/stand/pedal.js");
    document.querySelector("main").insertAdjacentHTML("beforeend", html);
    const place = document.querySelector("main").lastElementChild;
    let read;
    place.addEventListener("keydown", (event) => { read = readKey(event); });
    place.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, ...more }));
    place.remove();
    return read;
}"""


@pytest.mark.parametrize(
    ("key", "more", "html", "does"),
    [
        ("PageDown", {}, "<p>.</p>", "next-target"),
        ("PageUp", {}, "<p>.</p>", "previous-target"),
        ("ArrowRight", {}, "<button>.</button>", "next-target"),
        ("ArrowLeft", {}, "<p>.</p>", "previous-target"),
        ("ArrowDown", {}, "<p>.</p>", "next-candidate"),
        ("ArrowUp", {}, "<p>.</p>", "previous-candidate"),
        (" ", {}, "<p>.</p>", "listen"),
        ("Enter", {}, "<p>.</p>", "listen"),
        (" ", {}, "<button>.</button>", None),
        ("Enter", {}, "<a href='#'>.</a>", None),
        ("PageDown", {"ctrlKey": True}, "<p>.</p>", None),
        ("ArrowDown", {"altKey": True}, "<p>.</p>", None),
        ("ArrowDown", {}, "<select></select>", None),
        ("ArrowDown", {}, "<input>", None),
        ("ArrowDown", {}, "<textarea></textarea>", None),
        ("a", {}, "<p>.</p>", None),
    ],
)
def test_a_key_is_read_for_what_it_asks(
    page: Page, key: str, more: dict[str, bool], html: str, does: str | None
) -> None:
    assert page.evaluate(READ, [key, more, html]) == does


# As a browser that refuses, or finds none: in the long run `test_recording_in_page` asks real ones.
FAIL = """(name) => {
    const fail = async () => { throw new DOMException("no", name); };
    Object.defineProperty(navigator.mediaDevices, "getUserMedia", { value: fail });
}"""


@pytest.mark.parametrize(
    ("error", "words"),
    [
        ("NotFoundError", "No microphone"),
        pytest.param("NotAllowedError", "may not use the microphone", marks=pytest.mark.long_run),
    ],
)
def test_a_microphone_that_fails_is_said_and_the_upload_is_there(
    written_in: Site,
    visit: Visit,
    rows: Filled,
    folder: Path,
    error: str,
    words: str,
) -> None:
    practice = begin(folder, rows)
    page = to_the_stand(visit(written_in, is_suggested_to=False, size=DESKTOP), practice)
    page.evaluate(FAIL, error)
    page.keyboard.press("Space")
    trouble = page.get_by_role("alert")
    expect(trouble).to_contain_text(words)
    expect(trouble).to_contain_text("upload a recording instead")
    expect(page.locator("[data-listen-words]")).to_have_text("Listen")
    page.keyboard.press("PageDown")  # the list still works
    expect(heading(page)).to_have_accessible_name("C sharp 5, 25 cents higher")
    with page.expect_navigation():
        page.get_by_role("link", name="Upload a recording").first.click()
    assert page.url.endswith(f"/fingerings/{rows.base}#attach")
