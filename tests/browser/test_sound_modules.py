"""The parts of recording, each alone: the microphone's troubles, the outbox's pauses.

Truth: names of errors from Media Capture and Streams (W3C); the doubling pauses by formula.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, Route

from tests.browser.conftest import Visit
from tests.browser.live_sound import pack
from tests.browser.played_microphone import take, tone
from tests.browser.serving import Site
from tests.javascript.test_sending import ANSWERS

pytestmark = pytest.mark.browser


@pytest.fixture
def page(visit: Visit, looked_at: Site) -> Iterator[Page]:
    """A page in which modules can be imported; failed requests are part of these tests."""
    visitor = visit(looked_at)
    yield visitor.open("/about")
    visitor.faults[:] = [
        each for each in visitor.faults if each.startswith(("script", "console: policy"))
    ]


OPEN = """async ([breaking, error]) => {
    const { openMicrophone, MicrophoneTrouble } = await import("/static/js/sound/microphone.js");
    const before = [];
    const set = (place, name, value) => {
        before.push([place, name, Object.getOwnPropertyDescriptor(place, name)]);
        Object.defineProperty(place, name, { value, configurable: true });
    };
    const fail = async () => { throw Object.assign(new Error("x"), { name: error }); };
    if (breaking === "devices") set(navigator, "mediaDevices", undefined);
    if (breaking === "insecure") {
        set(navigator, "mediaDevices", undefined);
        set(window, "isSecureContext", false);
    }
    if (breaking === "worklet") set(window, "AudioWorkletNode", undefined);
    if (breaking === "error") set(navigator.mediaDevices, "getUserMedia", fail);
    try {
        await openMicrophone();
    } catch (trouble) {
        return [trouble instanceof MicrophoneTrouble, trouble.kind, trouble.message];
    } finally {
        for (const [place, name, own] of before.reverse()) {
            if (own) Object.defineProperty(place, name, own);
            else delete place[name];
        }
    }
    return null;
}"""
# what is broken, and the name of the error -> the kind of trouble, and words about it
TROUBLES = {
    ("insecure", ""): ("insecure", "127.0.0.1"),
    ("devices", ""): ("unsupported", "newer one"),
    ("worklet", ""): ("unsupported", "newer one"),
    ("error", "NotAllowedError"): ("refused", "may not use"),
    ("error", "SecurityError"): ("refused", "may not use"),
    ("error", "NotFoundError"): ("missing", "Plug one in"),
    ("error", "OverconstrainedError"): ("missing", "Plug one in"),
    ("error", "NotReadableError"): ("busy", "another program"),
    ("error", "AbortError"): ("busy", "another program"),
    ("error", "TypeError"): ("other", "could not be opened"),
}


def test_every_trouble_with_a_microphone_has_its_words_and_a_way_round(page: Page) -> None:
    for (breaking, error), (kind, words) in TROUBLES.items():
        is_trouble, found, message = page.evaluate(OPEN, [breaking, error])
        assert is_trouble and found == kind, (breaking, error)
        assert words in message
        assert message.endswith("or upload a recording instead.")


def test_pauses_grow_while_nobody_answers_and_never_beyond_a_minute(page: Page) -> None:
    page.route("**/token.json", lambda route: route.abort("connectionrefused"))
    pauses_s, items = page.evaluate(
        """async () => {
            const { Outbox } = await import("/static/js/sound/outbox.js");
            const outbox = await Outbox.open();
            const pauses = [];
            const later = window.setTimeout;
            window.setTimeout = (act, ms, ...rest) => {
                if (ms < 900) return later(act, ms, ...rest);
                pauses.push(ms / 1000);
                return 0;
            };
            for (const url of ["/fingerings/1/takes.json", "/fingerings/2/takes.json"]) {
                await outbox.keep({ url, wav: new ArrayBuffer(1) });
            }
            for (let turn = 0; turn < 9; turn += 1) await outbox.send();
            window.setTimeout = later;
            const items = await outbox.list();
            for (const { id } of items) await outbox.remove(id);
            return [pauses, items];
        }"""
    )

    assert pauses_s == [1, 2, 4, 8, 16, 32, 60, 60, 60]
    assert [each["state"] for each in items] == ["waiting", "waiting"]
    assert all("does not answer" in each["message"] for each in items)  # tried or not


# One answer of each kind: what each other means is told under node (`test_sending`).
ONE_OF_EACH = ("kept", "not found", "busy")


SEND_ONE = """async () => {
    const { Outbox } = await import("/static/js/sound/outbox.js");
    const outbox = await Outbox.open();
    await outbox.keep({ url: "/fingerings/1/takes.json", wav: new ArrayBuffer(1) });
    await outbox.send();
    const items = await outbox.list();
    for (const { id } of items) await outbox.remove(id);
    return items;
}"""


def test_only_the_notebook_itself_can_refuse_a_take_for_good(page: Page) -> None:
    given: dict[str, Any] = {}
    page.route("**/takes.json", lambda route: route.fulfill(**given))
    for name in ONE_OF_EACH:
        status, content_type, body, state, words = ANSWERS[name]
        given.update(status=status, content_type=content_type, body=body)
        page.reload()  # each answer comes to an outbox of its own
        items = page.evaluate(SEND_ONE)

        assert [each["state"] for each in items] == ([] if state == "gone" else [state]), name
        assert all(words in each["message"] for each in items), name


def test_a_take_whose_token_is_refused_goes_with_a_new_one(page: Page) -> None:
    tokens: list[str] = []
    sent: list[str] = []

    def give(route: Route) -> None:
        tokens.append(f"token-{len(tokens)}")
        body = (
            f'{{"csrf_token": "{tokens[-1]}", "notebook": "", "now": "2030-01-01T00:00:00+00:00"}}'
        )
        route.fulfill(content_type="application/json", body=body)

    def answer(route: Route) -> None:
        sent.append(route.request.post_data or "")
        is_first = len(sent) == 1
        body = '{"error": {"kind": "token", "message": "old"}}' if is_first else '{"take": 1}'
        status = 400 if is_first else 201
        route.fulfill(status=status, content_type="application/json", body=body)

    page.route("**/token.json", give)
    page.route("**/takes.json", answer)
    left, recorded_at = page.evaluate(
        """async () => {
            document.querySelector("meta[name=notebook]").remove();
            const { Outbox } = await import("/static/js/sound/outbox.js");
            const { Shelf } = await import("/static/js/sound/shelf.js");
            const outbox = await Outbox.open();
            const id = await outbox.keep({ url: "/x/takes.json", wav: new ArrayBuffer(1) });
            await (await Shelf.open()).change(id, { keptAt: Date.now() - 3_600_000, notebook: "" });
            const sent = [];
            const set = FormData.prototype.set;
            FormData.prototype.set = function (name, value, ...rest) {
                if (name === "recorded_at") sent.push(value);
                set.call(this, name, value, ...rest);
            };
            await outbox.send();
            return [(await outbox.list()).length, sent.at(-1)];
        }"""
    )

    assert left == 0
    assert len(sent) == 2 and len(tokens) == 2
    # An hour before the notebook's own time, whatever this computer's clock says.
    assert recorded_at.startswith(("2029-12-31T23:00:0", "2029-12-31T22:59:5"))


def test_a_note_stays_with_what_was_asked_for_when_it_began(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at, is_played_to=True).open("/about")

    kept, states = page.evaluate(
        """async (sound) => {
            const { Recorder } = await import("/static/js/sound/recorder.js");
            const { TypedEventTarget } = await import("/static/js/typed-event-target.js");
            const outbox = new TypedEventTarget();
            const kept = [];
            const states = [];
            outbox.prepare = () => {};
            outbox.send = () => {};
            outbox.keep = async (take) => kept.push([take.url, take.label, take.fields.dynamic]);
            const recorder = new Recorder({ outbox });
            recorder.addEventListener("state", ({ detail }) => {
                states.push(detail);
                const next = { url: "/second", label: "two", fields: { dynamic: "f" } };
                if (detail === "sounding") recorder.redirect(next);
            });
            const two = new Promise((done) => recorder.addEventListener("note", ({ detail }) => {
                if (detail.id === 2) done();
            }));
            await recorder.open();
            recorder.arm({ url: "/first", label: "one", fields: { dynamic: "p" } });
            hear(sound, 4);
            await two;
            recorder.close();
            return [kept, states];
        }""",
        pack(np.concatenate([take(tone(440.0)), take(tone(460.0))])),
    )

    assert kept == [["/first", "one", "p"], ["/second", "two", "f"]]
    assert states == [
        *("opening", "idle", "waiting", "sounding", "waiting", "sounding", "waiting"),
        *("idle", "closed"),
    ]
