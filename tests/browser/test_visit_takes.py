"""The list of takes beside a recorder: what a later answer says of an earlier take is shown."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

pytestmark = pytest.mark.browser

# Two takes of one fingering are listed; then the notebook answers to each.
PLAY = """async ([first, second]) => {
    const { VisitTakeList } = await import("/static/js/visit-take-list.js");
    const { TypedEventTarget } = await import("/static/js/typed-event-target.js");
    class Outbox extends TypedEventTarget { async list() { return []; } }
    const outbox = new Outbox();
    const place = document.createElement("ol");
    const takes = new VisitTakeList(place, outbox, () => []);
    const spoken = [];
    takes.on("result", (words) => spoken.push(words));
    const read = () => [...place.children].map((row) => [
        row.textContent, row.classList.contains("is-aside"), row.querySelectorAll("a").length,
    ]);
    const seen = [];
    for (const [id, result] of [first, second].entries()) {
        const marks = { isClipped: id === 0, hasGap: false, isCutOff: false };
        takes.add({ id, durationS: 1, fields: {}, ...marks });
        outbox.emit("result", { id, item: {}, result });
        seen.push(read());
    }
    return { seen, spoken };
}"""
LOUD = "Too loud: the sound is cut off at the top."
ASIDE = "You played E5: not counted, since the other takes sound elsewhere."


def answer(take: int, figure: str, standings: list[dict[str, object]]) -> dict[str, object]:
    """What the notebook answers to a take that counts."""
    return {
        "take": take,
        "fingering": 1,
        "counts": True,
        "standing": "",
        "played": "D5",
        "url": f"/takes/{take}",
        "figure": figure,
        "is_usable": True,
        "words": "",
        "warnings": [],
        "offset_cents": 0.0,
        "uncertainty_cents": 0.5,
        "pooled": None,
        "standings": standings,
    }


def test_an_earlier_take_stands_as_the_last_answer_says(page: Page) -> None:
    counts = {"take": 12, "counts": True, "standing": ""}
    aside = {"take": 11, "counts": False, "standing": ASIDE}
    first = answer(11, "+1.0 cents", [{"take": 11, "counts": True, "standing": ""}])
    second = answer(12, "+2.0 cents", [aside, counts])

    found = page.evaluate(PLAY, [first, second])

    once, twice = found["seen"]
    assert once == [[f"Take 1, 1.0 s+1.0 cents{LOUD}", False, 1]]
    assert twice == [
        ["Take 2, 1.0 s+2.0 cents", False, 1],
        [f"Take 1, 1.0 s+1.0 cents{ASIDE} {LOUD} What was it?", True, 2],
    ]
    # only what was just played is spoken
    assert found["spoken"] == [
        "Take 1, 1.0 s: +1.0 cents.",
        "Take 2, 1.0 s: +2.0 cents.",
    ]
