"""Takes wait in the browser while the notebook is away; each is sent once, to its own notebook.

Truth: pitches by formula; what is in the notebook afterwards.
"""

from __future__ import annotations

import base64
import shutil
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import soundfile
from playwright.sync_api import Route, expect

from tests.browser.conftest import Visit
from tests.browser.played_microphone import RATE_HZ, play, rest, tone
from tests.browser.recording_takes import (
    NOTES,
    PATIENCE_MS,
    PLAYED_HZ,
    count_takes,
    forgive_absence,
    record_while_away,
    start_recording,
    wait_for_line,
    wait_until_sent,
)
from tests.browser.serving import Site, serve_folder
from tests.webapp.logging_rows import Filled
from tests.webapp.tones import tone_wav
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping.bin import put_in_bin, restore

pytestmark = pytest.mark.browser


def test_takes_wait_while_the_notebook_is_away_and_are_sent_when_it_is_back(
    visit: Visit, rows: Filled, filled_folder: tuple[Path, Filled], tmp_path: Path
) -> None:
    folder = copy_of(filled_folder[0], tmp_path)
    with serve_folder(folder) as site:
        visitor = visit(site, is_played_to=True)
        page = visitor.open(f"/fingerings/{rows.base}")
        page.wait_for_load_state("networkidle")
        start_recording(page)
        expect(page.locator("[data-recorder-state]")).to_have_text("Listening. Play a note.")
    play(page, NOTES)
    wait_for_line(page, "3 takes wait in this browser")
    expect(page.locator("[data-take]")).to_have_count(3)
    first = page.locator("[data-take]").last
    expect(first).to_contain_text("Waits in this browser")
    expect(first).to_contain_text("is sent when it does")

    with serve_folder(folder, port=site.port):
        expect(page.locator("[data-take].is-measured")).to_have_count(3, timeout=PATIENCE_MS)
        expect(page.locator(".waiting-takes")).to_be_hidden()
        visitor.context.close()
    forgive_absence(visitor)
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.base).takes) == 5


def copy_of(source: Path, tmp_path: Path) -> Path:
    """A copy of a notebook to write in."""
    return Path(shutil.copytree(source, tmp_path / "copied"))


@pytest.mark.parametrize("stand", ["", "/stand"])
def test_a_note_that_sounds_while_the_page_is_left_is_kept(
    written_in: Site, visit: Visit, folder: Path, rows: Filled, stand: str
) -> None:
    page = visit(written_in, is_played_to=True).open(f"/fingerings/{rows.base}{stand}")
    before = count_takes(folder, rows.base)
    if stand:
        page.get_by_role("button", name="Listen").click()
    else:
        start_recording(page)
    play(page, [rest(0.5), tone(PLAYED_HZ[0])])

    with page.expect_navigation():
        page.get_by_role("link", name="Leave" if stand else "Quartervent").first.click()

    for _ in range(600):
        if count_takes(folder, rows.base) > before:
            break
        page.wait_for_timeout(100)
    assert count_takes(folder, rows.base) == before + 1


# What lies in the database: its version, the records, the numbers of the sounds.
LOOK = """async () => {
    const opening = indexedDB.open("quartervent");
    await new Promise((done) => { opening.onsuccess = done; });
    const stores = opening.result.transaction(["takes", "sounds"]);
    const takes = stores.objectStore("takes").getAll();
    const sounds = stores.objectStore("sounds").getAllKeys();
    await new Promise((done) => { stores.oncomplete = done; });
    const found = [opening.result.version, takes.result, sounds.result];
    opening.result.close();
    return found;
}"""


def check_shape(found: tuple[int, list[dict[str, Any]], list[int]], rows: Filled) -> None:
    """Whether what waits has the shape that an earlier version left, and its note by signs."""
    version, takes, sounds = found
    assert version == 1 and sounds == [each["id"] for each in takes]
    names = {"id", "url", "fields", "label", "keptAt", "notebook", "state", "message"}
    assert {frozenset(each) for each in takes} == {frozenset(names | {"said"})}
    assert {each["url"] for each in takes} == {f"/fingerings/{rows.base}/takes.json"}
    assert {each["state"] for each in takes} == {"waiting"}
    assert all(isinstance(each["keptAt"], int) and each["notebook"] for each in takes)
    assert all(set(each["fields"]) == {"dynamic"} for each in takes)


def test_a_take_that_waited_keeps_the_moment_it_was_played(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, is_played_to=True)
    page = record_while_away(visitor, rows)
    check_shape(page.evaluate(LOOK), rows)
    page.get_by_role("button", name="Stop", exact=True).click()
    # Three days pass in the outbox.
    page.evaluate(
        """async () => {
            const { Shelf } = await import("/static/js/sound/shelf.js");
            const shelf = await Shelf.open();
            for (const { id, keptAt, fields } of await shelf.list()) {
                const watched = { ...fields, is_watched: "1" };
                await shelf.change(id, { keptAt: keptAt - 3 * 86_400_000, fields: watched });
            }
        }"""
    )
    page.unroute("**/takes.json")
    page.reload()
    sent = page.locator("[data-take].is-measured").first
    expect(sent).to_contain_text("watched", timeout=PATIENCE_MS)

    forgive_absence(visitor)
    with closing(open_notebook(folder)) as notebook:
        earliest, *_, latest = open_fingering(notebook, rows.base).takes
    assert (latest.recorded_at - earliest.recorded_at).days == 2  # not quite three
    assert earliest.is_watched and not latest.is_watched


def test_an_answer_lost_on_its_way_makes_no_second_take_and_a_session_that_is_gone_none_less(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, is_played_to=True, keeps_requests=True)
    page = visitor.open(f"/fingerings/{rows.base}")
    lost: list[int] = []

    def lose_first_answer(route: Route) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.fetch().status)
        route.abort("connectionreset")

    page.route("**/takes.json", lose_first_answer)
    start_recording(page)
    play(page, NOTES[:2])
    expect(page.locator("[data-take].is-measured")).to_have_count(2, timeout=PATIENCE_MS)
    assert lost == [201]
    assert count_takes(folder, rows.base) == 2 + 2

    # the page fetches a new token
    page.unroute("**/takes.json")
    visitor.requests.clear()
    visitor.context.clear_cookies()
    play(page, NOTES[2:])
    expect(page.locator("[data-take].is-measured")).to_have_count(3, timeout=PATIENCE_MS)
    statuses = [
        answer.status
        for each in visitor.requests
        if each.url.endswith("takes.json") and (answer := each.response())
    ]
    assert statuses == [400, 201]
    assert count_takes(folder, rows.base) == 2 + 3
    visitor.faults[:] = [each for each in visitor.faults if "ERR_CONNECTION_RESET" not in each]


def test_a_take_for_a_fingering_in_the_bin_can_be_had_back(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, is_played_to=True)
    page = visitor.open(f"/fingerings/{rows.grandchild}")
    with closing(open_notebook(folder)) as notebook:
        put_in_bin(notebook, "fingering", rows.grandchild)
    start_recording(page)
    play(page, NOTES)
    wait_for_line(page, "3 takes could not be kept")
    page.get_by_role("button", name="Stop", exact=True).click()
    take = page.locator("[data-take]").first
    expect(take).to_contain_text("Not kept")
    expect(take).to_contain_text("lies in the bin")

    with page.expect_download() as download:
        take.get_by_role("button", name="Download").click()
    sound, rate_hz = soundfile.read(download.value.path(), dtype="float32")
    assert rate_hz == RATE_HZ and len(sound) > 0.7 * RATE_HZ

    take.get_by_role("button", name="Discard").click()
    take.get_by_role("button", name="Discard for good").click()
    wait_for_line(page, "2 takes could not be kept")
    expect(take).to_contain_text("No longer in this browser")

    with closing(open_notebook(folder)) as notebook:
        restore(notebook, "fingering", rows.grandchild)
    elsewhere = visitor.open("/about")
    elsewhere.locator(".waiting-takes summary").click()
    line = elsewhere.locator(".waiting-takes")
    expect(line.locator("li")).to_have_count(2)
    expect(line.locator("li .note-name .sign").first).to_be_visible()
    line.get_by_role("button", name="Send again").first.click()
    wait_for_line(elsewhere, "1 take could not be kept")
    assert count_takes(folder, rows.grandchild) == 2
    expect(page.locator("[data-take].is-measured")).to_have_count(1)


def test_one_tab_sends_at_a_time(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, is_played_to=True, keeps_requests=True)
    page = record_while_away(visitor, rows, 3)
    others = [visitor.open(path) for path in ("/about", "/search")]
    page.unroute("**/takes.json")
    for tab in (page, *others):
        tab.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("[data-take].is-measured")).to_have_count(3, timeout=PATIENCE_MS)

    forgive_absence(visitor)
    kept = [
        each.response()
        for each in visitor.requests
        if each.url.endswith("takes.json") and not each.failure
    ]
    assert [each.status for each in kept if each is not None] == [201] * 3
    assert count_takes(folder, rows.base) == 2 + 3


def test_a_take_outlives_its_tab_and_is_sent_from_any_page_of_its_own_notebook(
    visit: Visit, rows: Filled, filled_folder: tuple[Path, Filled], tmp_path: Path
) -> None:
    folder = copy_of(filled_folder[0], tmp_path)
    with serve_folder(folder) as site:
        visitor = visit(site, is_played_to=True)
        page = record_while_away(visitor, rows)
        page.get_by_role("button", name="Stop", exact=True).click()
        visitor.close(page)
    with serve_folder(tmp_path / "another", port=site.port):
        page = visitor.open("/about")
        wait_for_line(page, "1 take waits for another notebook")
        page.locator(".waiting-takes summary").click()
        expect(page.locator(".waiting-takes li").first).to_contain_text("another notebook")
        visitor.close(page)
    before = count_takes(folder, rows.base)
    with serve_folder(folder, port=site.port):
        other = visitor.open("/about")
        wait_until_sent(other)
        expect(other.locator(".waiting-takes")).to_be_hidden()
        visitor.context.close()
    forgive_absence(visitor)
    assert count_takes(folder, rows.base) == before + 1


def test_without_a_place_in_the_browser_takes_wait_in_the_page_and_it_says_so(
    written_in: Site, visit: Visit, rows: Filled
) -> None:
    visitor = visit(written_in, is_played_to=True)
    visitor.add_script("indexedDB.open = () => { throw new DOMException('no', 'SecurityError'); }")
    page = record_while_away(visitor, rows)

    trouble = page.locator("[data-recorder-trouble]")
    expect(trouble).to_contain_text("cannot keep takes")
    with page.expect_download() as download:
        page.locator("[data-take]").last.get_by_role("button", name="Download").click()
    assert soundfile.info(download.value.path()).samplerate == RATE_HZ
    page.unroute("**/takes.json")
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("[data-take].is-measured").first).to_be_visible(timeout=PATIENCE_MS)
    forgive_absence(visitor)


# A take as the version before left it: the database made, the record and its sound put in, by hand.
LEAVE = """async ([url, sound, keptAt]) => {
    const { notebook } = await (await fetch("/token.json")).json();
    const record = {
        url, fields: { dynamic: "p", take_tuning_a_hz: "442" }, label: "C#5 +25", keptAt, notebook,
        state: "waiting", message: "",
    };
    const opening = indexedDB.open("quartervent", 1);
    opening.onupgradeneeded = () => {
        opening.result.createObjectStore("takes", { keyPath: "id", autoIncrement: true });
        opening.result.createObjectStore("sounds");
    };
    await new Promise((done) => { opening.onsuccess = done; });
    const transaction = opening.result.transaction(["takes", "sounds"], "readwrite");
    const adding = transaction.objectStore("takes").add(record);
    const bytes = Uint8Array.from(atob(sound), (letter) => letter.charCodeAt(0)).buffer;
    adding.onsuccess = () => transaction.objectStore("sounds").put(bytes, adding.result);
    await new Promise((done) => { transaction.oncomplete = done; });
    opening.result.close();
}"""


def test_a_take_that_an_earlier_version_left_still_arrives(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in)
    before = count_takes(folder, rows.base)
    bare = visitor.open("/static/css/notebook.css")  # of the origin, and without a script of ours
    url = f"/fingerings/{rows.base}/takes.json"
    moment_ms = 1_760_000_000_000  # 9 October 2025, 8:53:20 UTC
    bare.evaluate(LEAVE, [url, base64.b64encode(tone_wav(503.0)).decode(), moment_ms])
    visitor.close(bare)

    wait_until_sent(visitor.open("/about"))

    assert count_takes(folder, rows.base) == before + 1
    with closing(open_notebook(folder)) as notebook:
        takes = open_fingering(notebook, rows.base).takes
    (take,) = [each for each in takes if each.dynamic and each.dynamic == "p"]
    assert take.tuning_a_hz == 442
    assert not take.is_watched
    assert abs(take.recorded_at.timestamp() - moment_ms / 1000) < 60
