"""Takes from the page's microphone, from the device to the notebook, with chromium's fake one.

Truth: the file that the fake microphone plays, sample by sample; pitches by formula; what is in the
notebook afterwards. The fake device scales 16-bit steps by 1/32767, which is 1/32768 in the file:
a difference of 3e-5 of each sample, or 0.0003 dB.
"""

from __future__ import annotations

import shutil
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from playwright.sync_api import Browser, Page, Route, expect

from analysis.recording import measure_take
from tests.browser.conftest import Launch, Visit
from tests.browser.microphones import MISSING, RATE_HZ, REFUSED, playing, write_notes
from tests.browser.serving import Site, serve_folder
from tests.browser.test_access import SMALL_TARGETS, check_everywhere
from tests.browser.visiting import DESKTOP, PHONE, Visitor
from tests.webapp.logging_rows import Filled
from webapp.notebook import open_notebook
from webapp.services.bin import put_in_bin, restore
from webapp.services.fingerings import open_fingering
from webapp.services.takes import find_clip, open_take

pytestmark = pytest.mark.browser

# The filled notebook's base is C#5 +25 on a B-flat soprano: 225 cents above A4 = 440 Hz.
TARGET_HZ = 440 * 2 ** (225 / 1200)
CENTS = (4.0, 9.0, -6.0)
PLAYED_HZ = [TARGET_HZ * 2 ** (cents / 1200) for cents in CENTS]
PATIENCE_MS = 20_000
AWAY = "ERR_CONNECTION_REFUSED"


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, NDArray[np.float32]]:
    """Three notes, as a file and as the samples in it."""
    path = tmp_path_factory.mktemp("microphone") / "notes.wav"
    return path, write_notes(path, PLAYED_HZ)


@pytest.fixture(scope="module")
def hearing(launch: Launch, played: tuple[Path, NDArray[np.float32]]) -> Browser:
    """A chromium whose microphone hears three notes each time it is opened."""
    return launch(*playing(played[0]))


@pytest.fixture
def folder(written_in: Site, tmp_path: Path) -> Path:
    """Where the notebook of `written_in` lies."""
    del written_in
    return tmp_path / "notebook"


# `written_in` comes first in these tests: the browser goes before the notebook does.
def start_recording(page: Page) -> None:
    """Press the button."""
    page.get_by_role("button", name="Record takes").click()


def rows_of(page: Page) -> list[str]:
    """The takes of this visit, newest first."""
    return [each.inner_text() for each in page.locator("[data-take]").all()]


def forgive_absence(visitor: Visitor) -> None:
    """The server was away on purpose: chromium says so, and nothing else may be wrong."""
    visitor.faults[:] = [each for each in visitor.faults if AWAY not in each]


def wait_for_line(page: Page, words: str) -> None:
    """Wait for the line about waiting takes."""
    expect(page.locator(".waiting-takes summary")).to_have_text(words, timeout=PATIENCE_MS)


def clip_of(folder: Path, take_id: int) -> NDArray[np.float32]:
    """The samples of a take, read by libsndfile."""
    with closing(open_notebook(folder)) as notebook:
        _, path = find_clip(notebook, take_id)
        samples, rate_hz = soundfile.read(path, dtype="float32")
    assert rate_hz == RATE_HZ
    return np.asarray(samples, dtype=np.float32)


def place_of(part: NDArray[np.float32], whole: NDArray[np.float32]) -> int:
    """Where a part of a sound lies in it, by normalised correlation."""
    from scipy.signal import fftconvolve

    key = part[9000:15000]
    match = fftconvolve(whole, key[::-1], "valid")
    power = fftconvolve(whole**2, np.ones(len(key)), "valid")
    return int(np.argmax(match / np.sqrt(np.maximum(power, 1e-9)))) - 9000


def test_three_takes_in_a_row_are_cut_measured_and_listed_hands_free(
    written_in: Site,
    visit: Visit,
    hearing: Browser,
    folder: Path,
    rows: Filled,
    played: tuple[Path, NDArray[np.float32]],
) -> None:
    page = visit(written_in, browser=hearing, size=DESKTOP).open(f"/fingerings/{rows.base}")
    page.select_option("#recorder-dynamic", "mf")

    start_recording(page)
    expect(page.locator("[data-take].is-measured")).to_have_count(3, timeout=PATIENCE_MS)

    assert [each.split()[4] for each in rows_of(page)] == ["−6.0", "+9.0", "+4.0"]
    expect(page.locator("[data-recorder-spoken]")).to_contain_text(
        "Take 3, 0.7 s: −6.0 ± 0.1 cents."
    )
    expect(page.locator("[data-recorder-state]")).to_have_text("Listening. Play a note.")
    assert not page.locator("[data-recorder-warning]").is_visible()
    links = [each.get_attribute("href") or "" for each in page.locator("[data-take] a").all()]
    page.get_by_role("link", name="Show the new numbers").click()
    expect(page.locator(".entry-answer")).to_contain_text("pooled from 4 takes")

    source = played[1]
    for link, cents, f0_hz in zip(reversed(links), CENTS, PLAYED_HZ, strict=True):
        take_id = int(link.rpartition("/")[2])
        sound = clip_of(folder, take_id)
        place = place_of(sound, source)
        same = source[place : place + len(sound)]
        assert np.abs(sound - same).max() < 2**-15
        assert np.sqrt(np.mean(sound**2) / np.mean(same**2)) == pytest.approx(1, abs=1e-4)
        by_page = measure_take(sound, RATE_HZ, expected_f0_hz=f0_hz).f0_hz
        by_source = measure_take(same, RATE_HZ, expected_f0_hz=f0_hz).f0_hz
        assert by_page is not None and by_source is not None
        assert 1200 * np.log2(by_page / by_source) == pytest.approx(0, abs=0.001)
        with closing(open_notebook(folder)) as notebook:
            take = open_take(notebook, take_id).take
        assert (take.fingering_id, take.dynamic) == (rows.base, "mf")
        assert take.original_name.startswith("take 20") and take.original_name.endswith(".wav")
        assert 1200 * np.log2(by_page / TARGET_HZ) == pytest.approx(cents, abs=0.05)


def test_takes_wait_while_the_notebook_is_away_and_are_sent_when_it_is_back(
    visit: Visit, hearing: Browser, rows: Filled, filled_folder: tuple[Path, Filled], tmp_path: Path
) -> None:
    folder = copy_of(filled_folder[0], tmp_path)
    with serve_folder(folder) as site:
        visitor = visit(site, browser=hearing)
        page = visitor.open(f"/fingerings/{rows.base}")
        page.wait_for_load_state("networkidle")
        start_recording(page)
        expect(page.locator("[data-recorder-state]")).to_have_text("Listening. Play a note.")
    wait_for_line(page, "3 takes wait in this browser")
    expect(page.locator("[data-take]")).to_have_count(3)
    first = page.locator("[data-take]").last
    expect(first).to_contain_text("Waits in this browser")
    expect(first).to_contain_text("is sent when it does")

    with serve_folder(folder, port=site.port):
        expect(page.locator("[data-take].is-measured")).to_have_count(3, timeout=PATIENCE_MS)
        assert not page.locator(".waiting-takes").is_visible()
        visitor.context.close()
    forgive_absence(visitor)
    with closing(open_notebook(folder)) as notebook:
        assert len(open_fingering(notebook, rows.base).takes) == 5


def copy_of(source: Path, tmp_path: Path) -> Path:
    """A copy of a notebook to write in."""
    return Path(shutil.copytree(source, tmp_path / "copied"))


def record_while_away(visitor: Visitor, rows: Filled, count: int = 1) -> Page:
    """Open the page of a fingering and keep what is sent from reaching the notebook."""
    page = visitor.open(f"/fingerings/{rows.base}")
    page.route("**/takes.json", lambda route: route.abort("connectionrefused"))
    start_recording(page)
    expect(page.locator("[data-take]")).to_have_count(count, timeout=PATIENCE_MS)
    expect(page.locator("[data-take]").last).to_contain_text("Waits", timeout=PATIENCE_MS)
    return page


def test_a_take_outlives_its_tab_and_is_sent_from_any_page(
    written_in: Site, visit: Visit, hearing: Browser, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
    page = record_while_away(visitor, rows)
    before = count_takes(folder, rows.base)
    page.close()

    other = visitor.open("/about")
    wait_until_sent(other)

    forgive_absence(visitor)
    assert count_takes(folder, rows.base) > before
    assert not other.locator(".waiting-takes").is_visible()


def wait_until_sent(page: Page) -> None:
    """Wait until nothing waits in the browser."""
    page.evaluate(
        """async () => {
            const { Outbox } = await import("/static/js/sound/outbox.js");
            const outbox = await Outbox.open();
            while ((await outbox.list()).length) {
                await new Promise((done) => setTimeout(done, 50));
            }
        }"""
    )


def count_takes(folder: Path, fingering_id: int) -> int:
    """How many takes a fingering has."""
    with closing(open_notebook(folder)) as notebook:
        return len(open_fingering(notebook, fingering_id).takes)


def test_a_take_that_waited_keeps_the_moment_it_was_played(
    written_in: Site, visit: Visit, hearing: Browser, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
    page = record_while_away(visitor, rows)
    page.get_by_role("button", name="Stop listening").click()
    # Three days pass in the outbox.
    page.evaluate(
        """async () => {
            const { Shelf } = await import("/static/js/sound/shelf.js");
            const shelf = await Shelf.open();
            for (const { id, keptAt } of await shelf.list()) {
                await shelf.change(id, { keptAt: keptAt - 3 * 86_400_000 });
            }
        }"""
    )
    page.unroute("**/takes.json")
    page.reload()
    expect(page.locator("[data-take].is-measured").first).to_be_visible(timeout=PATIENCE_MS)

    forgive_absence(visitor)
    with closing(open_notebook(folder)) as notebook:
        earliest, *_, latest = open_fingering(notebook, rows.base).takes
    assert (latest.recorded_at - earliest.recorded_at).days == 2  # not quite three


def test_an_answer_lost_on_its_way_makes_no_second_take(
    written_in: Site, visit: Visit, hearing: Browser, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
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
    expect(page.locator("[data-take].is-measured")).to_have_count(3, timeout=PATIENCE_MS)

    assert lost == [201]
    assert count_takes(folder, rows.base) == 2 + 3
    visitor.faults[:] = [each for each in visitor.faults if "ERR_CONNECTION_RESET" not in each]


def test_a_take_for_a_fingering_in_the_bin_can_be_had_back(
    written_in: Site, visit: Visit, hearing: Browser, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
    page = visitor.open(f"/fingerings/{rows.grandchild}")
    with closing(open_notebook(folder)) as notebook:
        put_in_bin(notebook, "fingering", rows.grandchild)
    start_recording(page)
    wait_for_line(page, "3 takes could not be kept")
    page.get_by_role("button", name="Stop listening").click()
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
    line.get_by_role("button", name="Send again").first.click()
    wait_for_line(elsewhere, "1 take could not be kept")
    assert count_takes(folder, rows.grandchild) == 1
    expect(page.locator("[data-take].is-measured")).to_have_count(1)


def test_one_tab_sends_at_a_time(
    written_in: Site, visit: Visit, hearing: Browser, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
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


def test_a_take_waits_for_its_own_notebook(
    visit: Visit, hearing: Browser, rows: Filled, filled_folder: tuple[Path, Filled], tmp_path: Path
) -> None:
    folder = copy_of(filled_folder[0], tmp_path)
    with serve_folder(folder) as site:
        visitor = visit(site, browser=hearing)
        page = record_while_away(visitor, rows)
        page.get_by_role("button", name="Stop listening").click()
        count = page.locator("[data-take]").count()
        page.close()
    with serve_folder(tmp_path / "another", port=site.port):
        page = visitor.open("/about")
        took = "takes wait" if count > 1 else "take waits"
        wait_for_line(page, f"{count} {took} for another notebook")
        page.locator(".waiting-takes summary").click()
        expect(page.locator(".waiting-takes li").first).to_contain_text("another notebook")
        page.close()
    with serve_folder(folder, port=site.port):
        page = visitor.open(f"/fingerings/{rows.base}")
        expect(page.locator("[data-take].is-measured")).to_have_count(count, timeout=PATIENCE_MS)
        visitor.context.close()
    forgive_absence(visitor)


def test_a_page_whose_session_is_gone_fetches_a_new_token(
    written_in: Site, visit: Visit, hearing: Browser, folder: Path, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
    page = visitor.open(f"/fingerings/{rows.base}")
    start_recording(page)
    expect(page.locator("[data-recorder-state]")).to_have_text("Listening. Play a note.")
    visitor.context.clear_cookies()

    expect(page.locator("[data-take].is-measured")).to_have_count(3, timeout=PATIENCE_MS)

    statuses = [
        answer.status
        for each in visitor.requests
        if each.url.endswith("takes.json") and (answer := each.response())
    ]
    assert statuses == [400, 201, 201, 201]
    assert count_takes(folder, rows.base) == 2 + 3


def test_without_a_place_in_the_browser_takes_wait_in_the_page_and_it_says_so(
    written_in: Site, visit: Visit, hearing: Browser, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
    visitor.context.add_init_script(
        "indexedDB.open = () => { throw new DOMException('no', 'SecurityError'); }"
    )
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


def test_a_microphone_that_is_refused_or_missing_is_said_and_a_file_still_goes(
    written_in: Site, visit: Visit, launch: Launch, folder: Path, rows: Filled
) -> None:
    troubles = {}
    for seed, (name, flags) in enumerate((("refused", REFUSED), ("missing", MISSING))):
        page = visit(written_in, browser=launch(*flags)).open(f"/fingerings/{rows.base}")
        start_recording(page)
        expect(page.locator("[data-recorder-trouble]")).to_be_visible()
        troubles[name] = page.locator("[data-recorder-trouble]").inner_text()
        expect(page.locator("[data-recorder-state]")).to_have_text("Not listening.")
        wav = folder / f"{name}.wav"
        write_notes(wav, PLAYED_HZ[:1], seed=seed)
        page.set_input_files("#clip", wav)
        page.get_by_role("button", name="Measure and keep").click()
        expect(page.locator(".notice").first).to_contain_text("measured and kept")

    assert troubles["refused"].startswith("The browser may not use the microphone.")
    assert troubles["missing"].startswith("No microphone was found.")
    assert all(each.endswith("or upload a recording instead.") for each in troubles.values())


def test_a_note_that_is_too_loud_is_warned_of(
    written_in: Site, visit: Visit, launch: Launch, rows: Filled, tmp_path: Path
) -> None:
    write_notes(tmp_path / "loud.wav", PLAYED_HZ[:1], gain=12)
    browser = launch(*playing(tmp_path / "loud.wav"))
    page = visit(written_in, browser=browser).open(f"/fingerings/{rows.base}")
    start_recording(page)

    expect(page.locator("[data-recorder-warning]")).to_contain_text("Too loud")
    take = page.locator("[data-take].is-measured")
    expect(take).to_contain_text("cut off at the top", timeout=PATIENCE_MS)
    expect(page.locator("[data-level-words]")).to_contain_text("too loud")


def test_it_counts_in_when_asked(
    written_in: Site, visit: Visit, hearing: Browser, rows: Filled
) -> None:
    page = visit(written_in, browser=hearing).open(f"/fingerings/{rows.base}")
    page.select_option("#recorder-count", "3")
    start_recording(page)
    expect(page.locator("[data-recorder-state]")).to_have_text("Listening in 3 s.")
    expect(page.locator("[data-recorder-state]")).to_have_text("Listening in 1 s.")
    # The first note comes after 1.6 s, while it counts; the second after 3.0 s.
    expect(page.locator("[data-take].is-measured").first).to_contain_text(
        "−6.0", timeout=PATIENCE_MS
    )
    assert page.locator("[data-take]").count() <= 2


def test_stopping_lets_go_of_the_microphone(
    written_in: Site, visit: Visit, hearing: Browser, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
    visitor.context.add_init_script(
        """const open = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
        navigator.mediaDevices.getUserMedia = async (wanted) => {
            window.wanted = wanted;
            window.stream = await open(wanted);
            return window.stream;
        };"""
    )
    page = visitor.open(f"/fingerings/{rows.base}")
    start_recording(page)
    expect(page.locator("[data-recorder-state]")).to_have_text("Listening. Play a note.")
    assert page.evaluate("wanted.audio") == {
        "echoCancellation": False, "noiseSuppression": False, "autoGainControl": False,
    }  # fmt: skip
    page.get_by_role("button", name="Stop listening").click()
    expect(page.locator("[data-recorder-state]")).to_have_text("Not listening.")
    assert page.evaluate("stream.getTracks().every((track) => track.readyState === 'ended')")

    start_recording(page)
    expect(page.locator("[data-recorder-state]")).to_have_text("Recording this note.")
    # The device is unplugged in the middle of a note.
    page.evaluate("stream.getAudioTracks()[0].dispatchEvent(new Event('ended'))")
    expect(page.locator("[data-recorder-trouble]")).to_contain_text("The microphone is gone")
    expect(page.get_by_role("button", name="Record takes")).to_be_visible()


def test_axe_finds_nothing_to_mend_while_takes_are_recorded_and_wait(
    written_in: Site, visit: Visit, hearing: Browser, rows: Filled
) -> None:
    visitor = visit(written_in, browser=hearing)
    page = visitor.open(f"/fingerings/{rows.base}")
    start_recording(page)
    page.locator("[data-take].is-measured").wait_for(timeout=PATIENCE_MS)
    page.route("**/takes.json", lambda route: route.abort("connectionrefused"))
    page.locator("[data-take] .take-buttons").first.wait_for(timeout=PATIENCE_MS)
    page.locator(".waiting-takes summary").click()
    found = {"listening, one take waits": check_everywhere(page)}
    small = page.evaluate(SMALL_TARGETS, 44)
    page.route(
        "**/takes.json",
        lambda route: route.fulfill(
            status=404,
            content_type="application/json",
            body='{"error": {"kind": "not-found", "message": "The fingering lies in the bin."}}',
        ),
    )
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator(".recorder-takes")).to_contain_text("Not kept")
    found["refused"] = check_everywhere(page)

    assert found == {"listening, one take waits": {}, "refused": {}}
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    forgive_absence(visitor)


def test_without_scripts_there_is_no_recorder_and_the_form_is_there(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, has_scripts=False).open(f"/fingerings/{rows.base}")
    assert not page.locator("[data-recorder]").is_visible()
    assert page.locator("#clip").is_visible()
