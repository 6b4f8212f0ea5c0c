"""Takes from the page's microphone, from the first sample in the page to the notebook.

Truth: pitches by formula; what is in the notebook afterwards. The way from the device to the page
is told in `test_microphone_device`.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import expect

from analysis.recording import measure_take
from tests.browser.conftest import Launch, Visit
from tests.browser.microphones import MISSING, REFUSED, write_notes
from tests.browser.played_microphone import RATE_HZ as PLAYED_RATE_HZ
from tests.browser.played_microphone import play, rest, take, tone
from tests.browser.recording_takes import (
    CENTS,
    NOTES,
    PATIENCE_MS,
    PLAYED_HZ,
    TARGET_HZ,
    clip_of,
    forgive_absence,
    rows_of,
    start_recording,
    takes_of,
)
from tests.browser.serving import Site
from tests.browser.test_access import SMALL_TARGETS, VIEWS, VIEWS_THINNED, View, check_everywhere
from tests.browser.test_stand_keys import FAIL
from tests.browser.visiting import DESKTOP, PHONE
from tests.webapp.logging_rows import Filled
from webapp.notebook.opening import open_notebook
from webapp.notebook.takes.takes import open_take

pytestmark = pytest.mark.browser

MAY_NOT = "The browser may not use the microphone."
NONE_FOUND = "No microphone was found."


def test_three_takes_in_a_row_are_cut_measured_and_listed_hands_free(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    page = visit(written_in, is_played_to=True, size=DESKTOP).open(f"/fingerings/{rows.base}")
    page.locator(".recorder-choices summary").click()
    page.select_option("#recorder-dynamic", "mf")

    start_recording(page)
    for count, note in enumerate(NOTES, 1):
        play(page, [note])
        expect(page.locator("[data-take].is-measured")).to_have_count(count, timeout=PATIENCE_MS)

    assert [each.split()[4] for each in rows_of(page)] == ["−6.0", "+9.0", "+4.0"]
    expect(page.locator("[data-recorder-spoken]")).to_contain_text(
        "Take 3, 0.7 s: −6.0 ± 0.1 cents."
    )
    expect(page.locator("[data-recorder-state]")).to_have_text("Listening. Play a note.")
    assert not page.locator("[data-recorder-warning]").is_visible()
    kept = takes_of(page)
    page.get_by_role("link", name="Show the new numbers").click()
    expect(page.locator(".entry-answer")).to_contain_text("measured, 4 takes")

    for take_id, cents, f0_hz in zip(kept, CENTS, PLAYED_HZ, strict=True):
        heard_hz = measure_take(
            clip_of(folder, take_id), PLAYED_RATE_HZ, expected_f0_hz=f0_hz
        ).f0_hz
        assert heard_hz is not None
        assert 1200 * np.log2(heard_hz / TARGET_HZ) == pytest.approx(cents, abs=0.05)
        with closing(open_notebook(folder)) as notebook:
            row = open_take(notebook, take_id).take
        assert (row.fingering_id, row.dynamic) == (rows.base, "mf")
        assert row.original_name.startswith("take 20") and row.original_name.endswith(".wav")


@pytest.mark.parametrize(  # those with flags start a browser of their own; every day one is told
    ("flags", "error", "words"),
    [
        pytest.param((), "NotAllowedError", MAY_NOT, id="told to refuse"),
        pytest.param(REFUSED, "", MAY_NOT, id="refused", marks=pytest.mark.long_run),
        pytest.param(MISSING, "", NONE_FOUND, id="missing", marks=pytest.mark.long_run),
    ],
)
def test_a_microphone_that_is_refused_or_missing_is_said_and_a_file_still_goes(
    written_in: Site, visit: Visit, launch: Launch, folder: Path, rows: Filled,
    flags: Sequence[str], error: str, words: str,
) -> None:  # fmt: skip
    page = visit(written_in, browser=launch(*flags)).open(f"/fingerings/{rows.base}")
    if error:
        page.evaluate(FAIL, error)
    start_recording(page)
    trouble = page.locator("[data-recorder-trouble]")
    expect(trouble).to_be_visible()
    assert trouble.inner_text().startswith(words)
    assert trouble.inner_text().endswith("or upload a recording instead.")
    expect(page.locator("[data-recorder-state]")).to_have_text("Not listening.")
    assert check_everywhere(page, VIEWS[1:]) == {}
    wav = folder / "attached.wav"
    write_notes(wav, PLAYED_HZ[:1])
    page.get_by_text("Attach a recording").click()
    page.set_input_files("#clip", wav)
    page.get_by_role("button", name="Measure and keep").click()
    expect(page.locator(".notice").first).to_contain_text("measured and kept")


def test_a_note_that_is_too_loud_is_warned_of(written_in: Site, visit: Visit, rows: Filled) -> None:
    page = visit(written_in, is_played_to=True).open(f"/fingerings/{rows.base}")
    start_recording(page)
    play(page, [take(tone(PLAYED_HZ[0], peak=4.0))])

    expect(page.locator("[data-recorder-warning]")).to_contain_text("Too loud")
    measured = page.locator("[data-take].is-measured")
    expect(measured).to_contain_text("cut off at the top", timeout=PATIENCE_MS)
    expect(page.locator("[data-level-words]")).to_contain_text("too loud")


def test_it_counts_in_when_asked(written_in: Site, visit: Visit, rows: Filled) -> None:
    page = visit(written_in, is_played_to=True).open(f"/fingerings/{rows.base}")
    page.locator(".recorder-choices summary").click()
    page.select_option("#recorder-count", "3")
    start_recording(page)
    state = page.locator("[data-recorder-state]")
    expect(state).to_have_text("Listening in 3 s.")
    play(page, NOTES[:1], faster=8)  # while it counts
    expect(state).to_have_text("Listening in 1 s.")
    expect(state).to_have_text("Listening. Play a note.")
    play(page, NOTES[2:])
    expect(page.locator("[data-take].is-measured")).to_contain_text("−6.0", timeout=PATIENCE_MS)
    expect(page.locator("[data-take]")).to_have_count(1)


def test_stopping_lets_go_of_the_microphone(written_in: Site, visit: Visit, rows: Filled) -> None:
    visitor = visit(written_in, is_played_to=True)
    visitor.add_script(
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
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.locator("[data-recorder-state]")).to_have_text("Not listening.")
    assert page.evaluate("stream.getTracks().every((track) => track.readyState === 'ended')")

    start_recording(page)
    play(page, [rest(0.5), tone(PLAYED_HZ[0])])
    expect(page.locator("[data-recorder-state]")).to_have_text("Recording this note.")
    # The device is unplugged in the middle of a note.
    page.evaluate("stream.getAudioTracks()[0].dispatchEvent(new Event('ended'))")
    expect(page.locator("[data-recorder-trouble]")).to_contain_text("The microphone is gone")
    expect(page.get_by_role("button", name="Record", exact=True)).to_be_visible()


@VIEWS_THINNED
def test_axe_finds_nothing_to_mend_while_takes_are_recorded_and_wait(
    written_in: Site, visit: Visit, rows: Filled, views: Sequence[View]
) -> None:
    visitor = visit(written_in, is_played_to=True)
    # A fingering for another note: what is played is kept and does not count.
    page = visitor.open(f"/fingerings/{rows.half_hole}")
    start_recording(page)
    play(page, NOTES[:1])
    aside = page.locator("[data-take].is-measured")
    aside.wait_for(timeout=PATIENCE_MS)
    # the sign that is shown, then the words that are read out
    reason = "You played D\ue2805D quarter-flat 5: not counted until you say what it was."
    expect(aside).to_contain_text(reason)
    expect(page.locator("[data-recorder-spoken]")).to_contain_text("until you say what it was.")
    assert aside.get_by_role("link", name="What was it?").get_attribute("href")
    page.route("**/takes.json", lambda route: route.abort("connectionrefused"))
    play(page, NOTES[1:2])
    page.locator("[data-take] .take-buttons").first.wait_for(timeout=PATIENCE_MS)
    page.locator(".waiting-takes summary").click()
    found = {"listening, one take waits": check_everywhere(page, views)}
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
    found["refused"] = check_everywhere(page, views)

    assert found == {"listening, one take waits": {}, "refused": {}}
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    forgive_absence(visitor)


def test_without_scripts_there_is_no_recorder_and_the_form_is_there(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, has_scripts=False).open(f"/fingerings/{rows.base}")
    assert not page.locator("[data-recorder]").is_visible()
    page.get_by_text("Attach a recording").click()
    assert page.locator("#clip").is_visible()
