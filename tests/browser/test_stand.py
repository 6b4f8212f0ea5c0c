"""The stand in a browser that hears: the loop by keys, takes that wait, another note, the bin.

The notes that are played are made by formula (equal temperament, A4 = 440 Hz, a B-flat soprano
sounds two semitones lower), so what every take must be measured at is known. The site is asked for
before the visit, so that it goes after it.
"""

from __future__ import annotations

from contextlib import closing
from math import log2
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from analysis.recording import measure_clip
from tests.browser.conftest import Visit
from tests.browser.played_microphone import play, rest
from tests.browser.serving import Site
from tests.browser.standing import (
    D5_QUARTER_FLAT,
    FIRST,
    HEARD_MS,
    LIST,
    SECOND,
    THIRD,
    THIRD_NOTE,
    TWO_NOTES,
    begin,
    forgive_being_offline,
    heading,
    held,
    number_of,
    takes,
    to_the_stand,
)
from tests.browser.visiting import DESKTOP, LAPTOP
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import sounding_hz
from webapp.notebook.finder.tries import open_try
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.practice import open_practice
from webapp.notebook.safekeeping.bin import put_in_bin, restore
from webapp.notebook.store.rows import Suggestion, TryState
from webapp.notebook.takes.takes import find_clip
from webapp.notebook.takes.unsorted import list_unsorted

pytestmark = pytest.mark.browser

SEEN = "D\ue2805D quarter-flat 5"
"""A note in the text of a page: the sign that is shown, then the words that are read out."""


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until a place has the focus, once round the page at most."""
    for _ in range(150):
        page.keyboard.press("Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
    pytest.fail(f"Tab never reached {selector}")


def test_the_whole_loop_by_keys_alone(written_in: Site, visit: Visit, rows: Filled) -> None:
    visitor = visit(written_in, is_suggested_to=False, is_played_to=True, size=LAPTOP)
    page = visitor.open(f"/instruments/{rows.soprano}/practice")
    with page.expect_navigation():
        tab_to(page, "form button.primary")
        page.keyboard.press("Enter")
    session = page.url.removeprefix(written_in.origin)
    tab_to(page, "#targets")
    page.keyboard.type(LIST)
    with page.expect_navigation():
        tab_to(page, "form:has(#targets) > button, form:has(#targets) .actions button")
        page.keyboard.press("Enter")
    with page.expect_navigation():
        tab_to(page, f"a[href='{session}/stand']")
        page.keyboard.press("Enter")
    expect(page.locator(".stand.is-live")).to_be_visible()
    page.wait_for_load_state("networkidle")

    page.keyboard.press("Space")
    expect(page.locator("[data-listen-words]")).to_have_text("Stop")
    play(page, TWO_NOTES)
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    page.keyboard.press("PageDown")
    expect(heading(page)).to_have_accessible_name("C sharp 5, 25 cents higher")
    expect(page.locator("[data-said]")).to_contain_text("Note 2 of 2: C sharp 5")
    play(page, [*THIRD_NOTE, rest(1.0)], faster=1)  # the live pitch is told as it is in a room
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
    expect(page.locator("[data-microphone-words]")).to_have_text("The microphone is off.")
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
    assert "1 measured for the first time, 1 again" in brought
    assert "1 of 2 targets done." in brought
    assert "D quarter-flat 5 not played" in " ".join(brought.split())


# What stands in the place of the number, each time with what is said of it.
NOTE_WHAT_IS_SHOWN = """() => {
    window.shown = [];
    const place = (name) => document.querySelector(name);
    const [state, number] = [place(".live-state"), place(".live-number")];
    const note = () => shown.push([state.textContent, number.textContent]);
    new MutationObserver(note).observe(number, { childList: true, subtree: true });
}"""


def test_another_note_is_set_aside_and_one_without_a_fingering_is_kept_unsorted(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    page = to_the_stand(
        visit(written_in, is_suggested_to=False, is_played_to=True, size=DESKTOP),
        begin(folder, rows, "A5 +50, G6"),
    )
    number = page.locator(".live-number")
    page.evaluate(NOTE_WHAT_IS_SHOWN)
    page.keyboard.press("Space")
    play(page, TWO_NOTES[:1], faster=1)
    play(page, [*TWO_NOTES[1:], rest(1.0)], faster=1)
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    shown = page.evaluate("shown")
    assert "Measuring" in {state for state, _ in shown}
    assert {state for state, words in shown if "you play" in words} == {"Last held"}
    expect(number).to_contain_text("D quarter-flat 5")
    aside = takes(page).first
    reason = "You played D quarter-flat 5: not counted until you say what it was."
    expect(aside).to_contain_text(reason.replace("D quarter-flat 5", SEEN))
    expect(page.locator("[data-said]")).to_contain_text(reason)
    expect(aside.locator(".stand-take-number")).to_have_text(SEEN)  # no number beyond a semitone
    expect(page.locator(".live-marks text")).to_have_count(0)
    expect(page.locator(".live-within")).to_have_text("not counted")
    aside.locator(".stand-chip").click()
    answer = aside.get_by_role("link", name="What was it?").get_attribute("href")
    assert answer is not None

    page.keyboard.press("Escape")
    page.locator("h2:visible").first.click()
    page.keyboard.press("Space")
    page.keyboard.press("PageDown")
    page.keyboard.press("Space")
    play(page, [held(D5_QUARTER_FLAT, seed) for seed in (4, 5)])  # the same clip is one take
    expect(takes(page)).to_have_count(4, timeout=HEARD_MS)
    unsorted = takes(page).first
    expect(unsorted).to_contain_text("G6")
    expect(unsorted.locator(".stand-take-number")).to_have_text(SEEN)
    expect(unsorted).to_contain_text("Kept as an unsorted take.")
    shelf = f"/instruments/{rows.soprano}/unsorted"
    unsorted.locator(".stand-chip").click()
    assert unsorted.get_by_role("link").get_attribute("href") == shelf

    page.goto(f"{written_in.origin}/instruments/{rows.soprano}/stand")
    page.get_by_role("button", name="Listen").click()
    play(page, [held(D5_QUARTER_FLAT, 6), rest(1.0)], faster=1)
    free = takes(page).last
    expect(free.locator(".stand-take-number")).to_have_text(SEEN, timeout=HEARD_MS)
    expect(free).to_contain_text(f"cents from {SEEN}. Kept as an unsorted take.")
    expect(number).to_contain_text(SEEN)

    page.goto(f"{written_in.origin}{answer}")
    expect(page.get_by_role("button", name="Count it")).to_be_visible()
    with closing(open_notebook(folder)) as notebook:
        kept = [each.take for each in list_unsorted(notebook, rows.soprano).takes]
        _, clip = find_clip(notebook, int(answer.rpartition("/")[2]))
    heard_hz = measure_clip(clip).f0_hz
    assert heard_hz is not None
    meant_hz = sounding_hz(D5_QUARTER_FLAT + 800)
    assert 1200 * log2(heard_hz / meant_hz) == pytest.approx(-800 + SECOND, abs=1.0)
    *before, first, second, third = reversed(kept)
    assert len(before) == 1  # of the filled notebook
    assert [each.meant_text for each in (first, second, third)] == ["G6", "G6", None]
    assert not any(each.is_watched for each in (first, second, third))


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


def test_takes_wait_while_the_server_is_away_also_the_first_of_a_try_which_logs_it(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    suggestion = suggest(folder, rows)
    practice = begin(folder, rows)
    visitor = visit(written_in, is_suggested_to=False, is_played_to=True, size=DESKTOP)
    page = to_the_stand(visitor, practice)
    watch = page.get_by_role("button", name="Watch")
    watch.click()
    page.keyboard.press("Enter")  # it has the focus: off again
    page.keyboard.press("Enter")
    expect(watch).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("[data-microphone-words]")).to_have_text("Play when you are ready.")
    visitor.context.set_offline(True)

    play(page, TWO_NOTES)
    expect(page.locator(".stand-take", has_text="watched")).to_have_count(2, timeout=HEARD_MS)
    first = page.locator(".stand-take").last
    expect(first).to_contain_text("Waits in this browser", timeout=HEARD_MS)
    page.keyboard.press("PageDown")  # the list is on the page, so it goes on
    expect(heading(page)).to_have_accessible_name("C sharp 5, 25 cents higher")
    page.keyboard.press("PageUp")
    for _ in range(3):  # three logged ones come before it
        page.keyboard.press("ArrowDown")
    shown = page.locator(".stand-item:not([hidden]) .stand-candidate:not([hidden])")
    expect(shown).to_contain_text("predicted −7 ± 12 cents")
    play(page, TWO_NOTES)
    expect(page.locator(".stand-take")).to_have_count(4, timeout=HEARD_MS)

    visitor.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(takes(page)).to_have_count(4, timeout=HEARD_MS)
    assert sorted(number_of(each) for each in takes(page).all()) == pytest.approx(
        [SECOND, SECOND, FIRST, FIRST], abs=1.0
    )
    with closing(open_notebook(folder)) as notebook:
        takes_kept = [each.take for each in open_practice(notebook, practice).takes]
        row = open_try(notebook, suggestion)
        assert (row.state, row.keys_text) == (TryState.TRIED, "T R 123 | --3")
        assert row.fingering_id is not None
        assert len(open_fingering(notebook, row.fingering_id).takes) == 2
    whose = sorted(each.fingering_id or 0 for each in takes_kept)
    assert whose == [rows.grandchild, rows.grandchild, row.fingering_id, row.fingering_id]
    assert [each.is_watched for each in takes_kept] == [True] * 4
    expect(shown).not_to_contain_text("predicted")
    expect(shown).to_contain_text("2 takes")
    forgive_being_offline(visitor)


def test_a_take_goes_in_the_bin_and_back_and_one_refused_is_saved_sent_again_or_discarded(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    practice = begin(folder, rows)
    page = to_the_stand(
        visit(written_in, is_suggested_to=False, is_played_to=True, size=DESKTOP), practice
    )
    # The second fingering was logged for C#5 +40; here its takes are told from D5 -50.
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Space")
    play(page, TWO_NOTES)
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    assert [number_of(each) for each in takes(page).all()] == pytest.approx(
        [SECOND, FIRST], abs=1.0
    )
    page.keyboard.press("PageDown")
    expect(page.locator(".live-marks text")).to_have_count(0)
    page.keyboard.press("PageUp")  # and their marks are there again
    expect(page.locator(".live-marks")).to_contain_text("−3")
    wrong = takes(page).first
    wrong.locator(".stand-chip").click()
    wrong.get_by_role("button", name="Move to bin").click()
    expect(wrong).to_contain_text("In the bin.")
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.child).takes) == 1
    wrong.get_by_role("button", name="Put it back").click()
    expect(wrong).not_to_contain_text("In the bin.")
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.child).takes) == 2

    # its fingering goes in the bin: what is played for it is refused, and waits
    page.keyboard.press("ArrowUp")
    with closing(open_notebook(folder)) as notebook:
        put_in_bin(notebook, "fingering", rows.grandchild)
    play(page, TWO_NOTES)
    expect(page.locator(".stand-take")).to_have_count(4, timeout=HEARD_MS)
    take = page.locator(".stand-take").nth(1)  # the newest stands first
    expect(take).to_contain_text("Not kept: This fingering lies in the bin.", timeout=HEARD_MS)
    take.locator(".stand-chip").click()
    with page.expect_download() as saved:
        take.get_by_role("button", name="Download").click()
    assert saved.value.suggested_filename.endswith(".wav")
    with closing(open_notebook(folder)) as notebook:
        restore(notebook, "fingering", rows.grandchild)

    page.reload()  # they are still there, and still refused
    refused = page.locator(".stand-take", has_text="Not kept:")
    expect(refused).to_have_count(2)
    refused.last.locator(".stand-chip").click()
    refused.last.get_by_role("button", name="Send again").click()
    expect(takes(page)).to_have_count(1, timeout=HEARD_MS)
    assert number_of(takes(page).first) == pytest.approx(FIRST, abs=1.0)
    discard = refused.get_by_role("button", name="Discard")
    refused.locator(".stand-chip").click()
    discard.click()
    discard.click()  # it asks once more
    expect(page.locator(".stand-take")).to_have_count(1)
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.grandchild).takes) == 2


def test_it_counts_in_in_sight_and_keeps_what_was_chosen(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    practice = begin(folder, rows)
    visitor = visit(written_in, is_suggested_to=False, is_played_to=True, size=DESKTOP)
    page = to_the_stand(visitor, practice)
    page.get_by_text("Count in, microphone").click()
    page.get_by_label("Count in").select_option("3")
    page.locator("h2:visible").first.click()
    page.keyboard.press("Space")
    words = page.locator("[data-microphone-words]")
    expect(words).to_have_text("Listening in 3 s.")
    play(page, TWO_NOTES[:1], faster=8)  # falls into the count
    for seconds in (2, 1):
        expect(words).to_have_text(f"Listening in {seconds} s.")
    expect(words).to_have_text("Play when you are ready.")
    expect(page.locator("[data-listen-words]")).to_have_text("Stop")
    play(page, TWO_NOTES[1:])
    expect(takes(page)).to_have_count(1, timeout=HEARD_MS)
    assert number_of(takes(page).first) == pytest.approx(SECOND, abs=1.0)
    page.keyboard.press("Space")

    page.reload()
    expect(page.locator("[data-count-in]")).to_have_value("3")
    again = visitor.open(f"/fingerings/{rows.grandchild}")
    expect(again.get_by_label("Count in")).to_have_value("3")
