"""The stand in a browser that hears: the loop by keys, takes that wait, microphones that fail.

The fake microphone plays one file from the moment it is opened. Its notes are made by formula
(equal temperament, A4 = 440 Hz, a B-flat soprano sounds two semitones lower), so what every take
must be measured at is known. The site is asked for before the visit, so that it goes after it.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Browser, FloatRect, Locator, Page, expect

from analysis.pitch import NoteNames
from tests.analysis.recording.tones import Tone
from tests.browser.conftest import Launch, Visit
from tests.browser.microphones import MISSING, REFUSED, playing
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP, PHONE, Visitor
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import sounding_hz
from tests.webapp.tones import wav_bytes
from webapp.models import Suggestion, TryState
from webapp.notebook import open_notebook
from webapp.services.bin import put_in_bin, restore
from webapp.services.fingerings import open_fingering
from webapp.services.practice import PracticeDraft, open_practice, start_practice
from webapp.services.practice_targets import add_typed, list_targets
from webapp.services.tries import open_try

pytestmark = pytest.mark.browser

RATE_HZ = 48_000
D5_QUARTER_FLAT, C_SHARP_5_RAISED = 7350, 7325
FIRST, SECOND, THIRD = 5.0, -3.0, 6.0
LIST = "D5 -50, C#5 +25"
TABLET = {"width": 820, "height": 1180}
TABLET_ON_ITS_SIDE = {"width": 1180, "height": 820}
LAPTOP = {"width": 1280, "height": 800}
HEARD_MS = 20_000


def note(written_cents: float, seed: int) -> NDArray[np.float64]:
    """A held note, as loud as one is a metre away."""
    hz = sounding_hz(written_cents)
    tone = np.asarray(Tone(hz, duration_s=0.9, sample_rate_hz=RATE_HZ, seed=seed).render())
    return np.asarray(0.3 * tone / np.abs(tone).max(), np.float64)


@pytest.fixture(scope="module")
def hearing(tmp_path_factory: pytest.TempPathFactory, launch: Launch) -> Browser:
    """A chromium that hears two notes for the first target, a long rest, and one for the second."""

    def rest(seconds: float) -> NDArray[np.float64]:
        return np.zeros(round(seconds * RATE_HZ))

    parts = [
        rest(1.5), note(D5_QUARTER_FLAT + FIRST, 1),
        rest(1.0), note(D5_QUARTER_FLAT + SECOND, 2),
        rest(9.0), note(C_SHARP_5_RAISED + THIRD, 3),
        rest(2.0),
    ]  # fmt: skip
    file = tmp_path_factory.mktemp("heard") / "evening.wav"
    file.write_bytes(wav_bytes(np.concatenate(parts), RATE_HZ))
    return launch(*playing(file))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the notebook of `written_in` lies."""
    return tmp_path / "notebook"


def begin(folder: Path, rows: Filled, targets: str = LIST) -> int:
    """Begin a session with a list; return its number."""
    with closing(open_notebook(folder)) as notebook:
        practice = start_practice(notebook, rows.soprano, PracticeDraft())
        add_typed(notebook, practice, targets, names=NoteNames.ENGLISH)
        return practice


def to_the_stand(visitor: Visitor, practice: int) -> Page:
    page = visitor.open(f"/practice/{practice}/stand")
    expect(page.locator(".stand.is-live")).to_be_visible()
    page.wait_for_load_state("networkidle")
    return page


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until a place has the focus, once round the page at most."""
    for _ in range(150):
        page.keyboard.press("Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
    pytest.fail(f"Tab never reached {selector}")


def takes(page: Page) -> Locator:
    """The takes of the page that were measured."""
    return page.locator(".stand-take", has=page.locator(".stand-take-number:not(:empty)"))


def number_of(take: Locator) -> float:
    text = take.locator(".stand-take-number").inner_text()
    return float(text.split("±")[0].replace("−", "-"))


def heading(page: Page) -> Locator:
    return page.locator(".stand-item:not([hidden]) h2")


def test_the_whole_loop_by_keys_alone(
    written_in: Site, visit: Visit, rows: Filled, hearing: Browser
) -> None:
    visitor = visit(written_in, browser=hearing, size=LAPTOP)
    page = visitor.open(f"/instruments/{rows.soprano}/practice")
    with page.expect_navigation():
        tab_to(page, "form button.primary")
        page.keyboard.press("Enter")
    session = page.url.removeprefix(written_in.origin)
    tab_to(page, "#targets")
    page.keyboard.type(LIST)
    with page.expect_navigation():
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
    with page.expect_navigation():
        tab_to(page, f"a[href='{session}/stand']")
        page.keyboard.press("Enter")
    expect(page.locator(".stand.is-live")).to_be_visible()
    page.wait_for_load_state("networkidle")

    page.keyboard.press("Space")
    expect(page.locator("[data-listen-words]")).to_have_text("Stop listening")
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    page.keyboard.press("PageDown")
    expect(heading(page)).to_have_text("C sharp 5, 25 cents higher")
    expect(page.locator("[data-said]")).to_contain_text("Target 2 of 2: C sharp 5")
    expect(takes(page)).to_have_count(3, timeout=HEARD_MS)

    third, second, first = takes(page).all()
    assert number_of(first) == pytest.approx(FIRST, abs=1.0)
    assert number_of(second) == pytest.approx(SECOND, abs=1.0)
    assert number_of(third) == pytest.approx(THIRD, abs=1.0)
    expect(first).to_contain_text("D quarter-flat 5 T R 123 | 1-- | right F#")
    expect(third).to_contain_text("C sharp 5, 25 cents higher T R 123 | 123 | right F#")
    # what the live display says of the last note is what the server measured, within a cent
    shown = page.locator(".live-cents").inner_text()
    assert float(shown.replace("−", "-")) == pytest.approx(THIRD, abs=1.0)

    page.keyboard.press("Space")
    expect(page.locator("[data-hearing-words]")).to_have_text("The microphone is off.")
    tab_to(page, ".stand-item:not([hidden]) [data-settle-to=done] button")
    page.keyboard.press("Enter")
    expect(page.locator(".stand-item:not([hidden]) [data-state-words]")).to_have_text("done")
    with page.expect_navigation():
        tab_to(page, f"a[href='{session}']")
        page.keyboard.press("Enter")
    with page.expect_navigation():
        tab_to(page, f"form[action='{session}/end'] button")
        page.keyboard.press("Enter")

    brought = page.locator(".outcomes").inner_text()
    assert "1 proven for the first time, 1 again" in brought
    assert "1 of 2 targets done." in brought
    assert "D quarter-flat 5 not played" in " ".join(brought.split())


def test_takes_wait_while_the_server_is_away_and_are_sent_when_it_is_back(
    written_in: Site, visit: Visit, rows: Filled, hearing: Browser, folder: Path
) -> None:
    practice = begin(folder, rows)
    visitor = visit(written_in, browser=hearing, size=DESKTOP)
    page = to_the_stand(visitor, practice)
    page.keyboard.press("Space")
    expect(page.locator("[data-hearing-words]")).to_have_text("Play when you are ready.")
    visitor.context.set_offline(True)

    expect(page.locator(".stand-take")).to_have_count(2, timeout=HEARD_MS)
    first = page.locator(".stand-take").last
    expect(first).to_contain_text("Waits in this browser", timeout=HEARD_MS)
    page.keyboard.press("PageDown")  # the list is on the page, so it goes on
    expect(heading(page)).to_have_text("C sharp 5, 25 cents higher")
    page.keyboard.press("PageUp")

    visitor.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    assert sorted(number_of(each) for each in takes(page).all()) == pytest.approx(
        [SECOND, FIRST], abs=1.0
    )
    with closing(open_notebook(folder)) as notebook:
        kept = [each.take.fingering_id for each in open_practice(notebook, practice).takes]
    assert kept == [rows.grandchild, rows.grandchild]
    forgive_being_offline(visitor)


def forgive_being_offline(visitor: Visitor) -> None:
    """Of the faults of a visitor, take those away that a missing connection makes."""
    wanted = ("ERR_INTERNET_DISCONNECTED", "ERR_NETWORK_CHANGED")
    visitor.faults[:] = [
        each for each in visitor.faults if not any(name in each for name in wanted)
    ]


def suggest(folder: Path, rows: Filled) -> int:
    """Put a suggestion for the first target on the try list, as if a model had made it."""
    with closing(open_notebook(folder)) as notebook, notebook.database.writing() as session:
        row = Suggestion(
            instrument_id=rows.soprano,
            target_text="D5-50c",
            keys_text="T R 123 | --3",
            strategy="raised",
            predicted_offset_cents=-7.0,
            predicted_sigma_cents=12.0,
            method_version="finder-1",
        )
        session.add(row)
        session.flush()
        return row.id


def test_the_first_take_of_a_try_logs_it_even_when_it_waited(
    written_in: Site, visit: Visit, rows: Filled, hearing: Browser, folder: Path
) -> None:
    suggestion = suggest(folder, rows)
    practice = begin(folder, rows)
    visitor = visit(written_in, browser=hearing, size=DESKTOP)
    page = to_the_stand(visitor, practice)
    for _ in range(3):  # three logged ones come before it
        page.keyboard.press("ArrowDown")
    shown = page.locator(".stand-item:not([hidden]) .stand-candidate:not([hidden])")
    expect(shown).to_contain_text("predicted −7 ± 12 cents")
    page.keyboard.press("Space")
    expect(page.locator("[data-hearing-words]")).to_have_text("Play when you are ready.")
    visitor.context.set_offline(True)
    expect(page.locator(".stand-take")).to_have_count(2, timeout=HEARD_MS)
    visitor.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)

    with closing(open_notebook(folder)) as notebook:
        row = open_try(notebook, suggestion)
        assert (row.state, row.keys_text) == (TryState.TRIED, "T R 123 | --3")
        assert row.fingering_id is not None
        assert len(open_fingering(notebook, row.fingering_id).takes) == 2
    expect(shown).not_to_contain_text("predicted")
    expect(shown).to_contain_text("2 takes")
    forgive_being_offline(visitor)


def test_a_take_goes_in_the_bin_and_comes_back_without_leaving_the_stand(
    written_in: Site, visit: Visit, rows: Filled, hearing: Browser, folder: Path
) -> None:
    practice = begin(folder, rows)
    page = to_the_stand(visit(written_in, browser=hearing, size=DESKTOP), practice)
    # The second fingering was logged for C#5 +40; here its takes are told from D5 -50.
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Space")
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    assert [number_of(each) for each in takes(page).all()] == pytest.approx(
        [SECOND, FIRST], abs=1.0
    )
    page.keyboard.press("PageDown")
    expect(page.locator(".live-marks text")).to_have_count(0)
    page.keyboard.press("PageUp")  # and their marks are there again
    expect(page.locator(".live-marks")).to_contain_text("−3")
    wrong = takes(page).first
    wrong.get_by_role("button", name="Put in the bin").click()
    expect(wrong).to_contain_text("In the bin.")
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.child).takes) == 1
    wrong.get_by_role("button", name="Put it back").click()
    expect(wrong).not_to_contain_text("In the bin.")
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.child).takes) == 2


def test_a_take_that_is_refused_can_be_saved_sent_again_or_discarded(
    written_in: Site, visit: Visit, rows: Filled, hearing: Browser, folder: Path
) -> None:
    practice = begin(folder, rows)
    page = to_the_stand(visit(written_in, browser=hearing, size=DESKTOP), practice)
    with closing(open_notebook(folder)) as notebook:
        put_in_bin(notebook, "fingering", rows.grandchild)
    page.keyboard.press("Space")
    expect(page.locator(".stand-take")).to_have_count(2, timeout=HEARD_MS)
    take = page.locator(".stand-take").last
    expect(take).to_contain_text("Not kept: This fingering lies in the bin.", timeout=HEARD_MS)
    with page.expect_download() as saved:
        take.get_by_role("button", name="Download").click()
    assert saved.value.suggested_filename.endswith(".wav")
    with closing(open_notebook(folder)) as notebook:
        restore(notebook, "fingering", rows.grandchild)

    page.reload()  # they are still there, and still refused
    refused = page.locator(".stand-take", has_text="Not kept:")
    expect(refused).to_have_count(2)
    refused.last.get_by_role("button", name="Send again").click()
    expect(takes(page)).to_have_count(1, timeout=HEARD_MS)
    assert number_of(takes(page).first) == pytest.approx(FIRST, abs=1.0)
    discard = refused.get_by_role("button", name="Discard")
    discard.click()
    discard.click()  # it asks once more
    expect(page.locator(".stand-take")).to_have_count(1)
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.grandchild).takes) == 1


@pytest.mark.parametrize(
    ("flags", "words"), [(REFUSED, "may not use the microphone"), (MISSING, "No microphone")]
)
def test_a_microphone_that_fails_is_said_and_the_upload_is_there(
    written_in: Site,
    visit: Visit,
    rows: Filled,
    folder: Path,
    launch: Launch,
    flags: tuple[str, ...],
    words: str,
) -> None:
    practice = begin(folder, rows)
    page = to_the_stand(visit(written_in, browser=launch(*flags), size=DESKTOP), practice)
    page.keyboard.press("Space")
    trouble = page.get_by_role("alert")
    expect(trouble).to_contain_text(words)
    expect(trouble).to_contain_text("upload a recording instead")
    expect(page.locator("[data-listen-words]")).to_have_text("Listen")
    page.keyboard.press("PageDown")  # the list still works
    expect(heading(page)).to_have_text("C sharp 5, 25 cents higher")
    with page.expect_navigation():
        page.get_by_role("link", name="Upload a recording").first.click()
    assert page.url.endswith(f"/fingerings/{rows.base}#attach")


def test_without_scripts_it_is_a_list_with_forms(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    practice = begin(folder, rows)
    page = visit(written_in, size=DESKTOP, has_scripts=False).open(f"/practice/{practice}/stand")
    headings = page.locator(".stand-item h2")
    assert headings.all_inner_texts() == ["D quarter-flat 5", "C sharp 5, 25 cents higher"]
    assert all(each.is_visible() for each in page.locator(".stand-candidate").all())
    assert not page.locator(".stand-buttons").is_visible()
    with page.expect_navigation():
        page.locator(".stand-item").nth(1).get_by_role("button", name="Done").click()
    assert page.url.endswith(f"/practice/{practice}/stand#target-2")
    with closing(open_notebook(folder)) as notebook:
        assert [row.state for row in list_targets(notebook, practice)] == ["open", "done"]


def test_done_goes_on_to_the_next_and_says_when_the_server_is_away(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    practice = begin(folder, rows)
    visitor = visit(written_in, size=DESKTOP)
    page = to_the_stand(visitor, practice)
    done = page.locator(".stand-item:not([hidden]) [data-settle-to=done] button")
    visitor.context.set_offline(True)
    done.click()
    expect(page.get_by_role("alert")).to_contain_text("does not answer, so this was not noted")
    expect(heading(page)).to_have_text("D quarter-flat 5")
    visitor.context.set_offline(False)
    done.click()
    expect(heading(page)).to_have_text("C sharp 5, 25 cents higher")
    expect(page.locator(".stand-listen")).to_be_focused()  # the button pressed is hidden now
    with closing(open_notebook(folder)) as notebook:
        assert [row.state for row in list_targets(notebook, practice)] == ["done", "open"]
    page.reload()
    expect(heading(page)).to_have_text("C sharp 5, 25 cents higher")
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
    page.locator("h1").click()
    page.keyboard.press("ArrowDown")
    assert shown.inner_text() != before


def test_the_ends_of_the_list_are_said_and_the_buttons_do_what_the_keys_do(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    page = to_the_stand(visit(written_in, size=DESKTOP), begin(folder, rows))
    page.keyboard.press("PageUp")
    expect(page.locator("[data-said]")).to_have_text("There is no other target that way.")
    back = page.locator("[data-do=previous-target]")
    expect(back).to_have_attribute("aria-disabled", "true")
    page.locator("[data-do=next-target]").click()
    expect(heading(page)).to_have_text("C sharp 5, 25 cents higher")
    expect(back).to_have_attribute("aria-disabled", "false")
    page.locator("[data-do=next-candidate]").click()
    expect(page.locator("[data-said]")).to_contain_text("Fingering 2 of 3")


WALK = """async ([counts, start, steps]) => {
    const { Walk } = await import("/static/js/stand/walk.js");
    const walk = new Walk(counts, start);
    return steps.map((step) => [walk.go(step), walk.place.target, walk.place.candidate]);
}"""


def test_a_walk_stays_within_its_list_and_remembers_the_fingering_of_each_target(
    visit: Visit, looked_at: Site
) -> None:
    page = visit(looked_at).open("/about")
    steps = [
        "previous-target", "next-candidate", "next-candidate", "next-target", "next-candidate",
        "next-target", "previous-target", "previous-candidate",
    ]  # fmt: skip
    assert page.evaluate(WALK, [[2, 1], 0, steps]) == [
        [False, 0, 0], [True, 0, 1], [False, 0, 1], [True, 1, 0], [False, 1, 0],
        [False, 1, 0], [True, 0, 1], [True, 0, 0],
    ]  # fmt: skip
    assert page.evaluate(WALK, [[1, 1], 9, ["next-target"]]) == [[False, 1, 0]]


READ = """async ([key, more, html]) => {
    const { readKey } = await import("/static/js/stand/pedal.js");
    document.querySelector("main").insertAdjacentHTML("beforeend", html);
    const place = document.querySelector("main").lastElementChild;
    let read;
    place.addEventListener("keydown", (event) => { read = readKey(event); });
    place.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, ...more }));
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
    visit: Visit, looked_at: Site, key: str, more: dict[str, bool], html: str, does: str | None
) -> None:
    page = visit(looked_at).open("/about")
    assert page.evaluate(READ, [key, more, html]) == does


def box(page: Page, selector: str) -> FloatRect:
    found = page.locator(selector).first.bounding_box()
    assert found is not None, selector
    return found


@pytest.mark.parametrize("size", [TABLET, TABLET_ON_ITS_SIDE, LAPTOP])
def test_the_loop_needs_no_scrolling_on_tablet_and_laptop(
    written_in: Site, visit: Visit, rows: Filled, folder: Path, hearing: Browser,
    size: dict[str, int],
) -> None:  # fmt: skip
    page = to_the_stand(visit(written_in, browser=hearing, size=size), begin(folder, rows))
    page.keyboard.press("Space")
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    for part in (".stand-name", ".live-number", ".live-trace", ".stand-drawing", ".stand-listen",
                 "[data-do=next-target]", ".stand-take"):  # fmt: skip
        found = box(page, f".stand-item:not([hidden]) {part}, .stand > * {part}, .stand > {part}")
        assert found["y"] >= 0, part
        assert found["y"] + found["height"] <= size["height"], part
    left, right = box(page, ".stand-drawing"), box(page, ".stand-trace")
    assert left["x"] + left["width"] <= right["x"]


def test_on_a_phone_all_is_in_one_column_and_the_buttons_stay_at_hand(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    page = to_the_stand(visit(written_in, size=PHONE), begin(folder, rows))
    tops = [
        page.evaluate(
            "name => document.querySelector(name).getBoundingClientRect().top + scrollY", name
        )
        for name in (".stand-name", ".stand-trace", ".stand-candidates", ".stand-takes")
    ]
    assert tops == sorted(tops)
    listen = box(page, ".stand-listen")
    assert listen["y"] + listen["height"] <= PHONE["height"]


@pytest.mark.parametrize("size", [PHONE, TABLET])
def test_big_buttons_are_big(
    written_in: Site, visit: Visit, rows: Filled, folder: Path, size: dict[str, int]
) -> None:
    page = to_the_stand(visit(written_in, size=size), begin(folder, rows))
    buttons = page.locator(
        ".stand-buttons button, .stand-item:not([hidden]) .stand-settle form:not([hidden]) button"
    )
    heights = buttons.evaluate_all("all => all.map((one) => one.getBoundingClientRect().height)")
    assert len(heights) == 7
    assert min(heights) >= 64
