"""A live display on a page by itself, and readings of made-up pitches for it."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

TARGET_HZ = 440.0


PLACE = """async ([hz, range]) => {
    delete document.documentElement.dataset.theme;
    if (!window.view) {
        const sheet = document.createElement("link");
        sheet.rel = "stylesheet";
        sheet.href = "/static/css/live.css";
        const loaded = new Promise((resolve) => sheet.addEventListener("load", resolve));
        document.head.append(sheet);
        await loaded;
    }
    const place = document.createElement("section");
    place.setAttribute("aria-label", "Live pitch");
    document.querySelector("main").replaceChildren(
        Object.assign(document.createElement("h1"), { textContent: "Stand" }), place);
    const { PitchView } = await import("/static/js/sound/pitch-view.js");
    window.view = new PitchView(place);
    view.setTarget({ hz, label: "B4" });
    view.setRange(range);
    view.setTolerance(10);
    view.setWatching(true);
}"""


# Resolves once what was added is drawn, also where drawing waits for its half second.
FEED = """async (readings) => {
    for (const reading of readings) view.add(reading);
    while (view.isWaiting) await new Promise(requestAnimationFrame);
}"""


COUNT_CHANGES = """async ([readings, everyMs, selector, attribute]) => {
    const place = document.querySelector(selector);
    let count = 0;
    const watcher = new MutationObserver(() => { count += 1; });
    watcher.observe(place, attribute
        ? { attributes: true, attributeFilter: [attribute] }
        : { childList: true, characterData: true, subtree: true });
    for (const reading of readings) {
        view.add(reading);
        await new Promise((resolve) => setTimeout(resolve, everyMs));
    }
    watcher.disconnect();
    return count;
}"""


Reading = dict[str, float | None]


def play(
    cents: Callable[[float], float | None], from_s: float, to_s: float, *, spread: float = 1.14
) -> list[Reading]:
    """Readings of a pitch told in cents from the target; None is a rest."""
    readings: list[Reading] = []
    for step in range(round(from_s * 30), round(to_s * 30)):
        here = cents(step / 30)
        hz = None if here is None else TARGET_HZ * 2 ** (here / 1200)
        readings.append(
            {
                "timeS": step / 30,
                "f0Hz": hz,
                "heldHz": hz,
                "spreadCents": None if hz is None else spread,
                "levelDb": -20.0,
            }
        )
    return readings


def hold(cents: float | None, from_s: float, to_s: float, *, spread: float = 1.14) -> list[Reading]:
    """Readings of a pitch that stands still; None is a rest."""
    return play(lambda _: cents, from_s, to_s, spread=spread)


def words_of(page: Page, part: str) -> str:
    """What a part of the display says, on one line."""
    return page.locator(f".live-{part}").inner_text().replace("\n", " ")
