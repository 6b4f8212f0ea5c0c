"""Every page can be read and used: by axe's rules, on a narrow phone, with a finger."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

import pytest
from _pytest.mark import ParameterSet
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.conftest import Visit
from tests.browser.places import EMPTY_PLACES, PLACES
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP, PHONE, SMALL_PHONE, Visitor, make_visitor
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

# What a finger has to hit, with its size: a field counts with its label, which is hit as well, and
# a link that is laid over its card counts as the card.
# A link in running text is exempt (WCAG 2.2, success criterion 2.5.8, "inline").
SMALL_TARGETS = """least => {
    for (const closed of document.querySelectorAll("details")) closed.open = true;
    const isInText = (place) => getComputedStyle(place).display === "inline"
        && place.parentElement.textContent.trim() !== place.textContent.trim();
    const isMeant = (place) => place.type !== "hidden" && !place.closest("[aria-hidden=true]")
        && !(place.matches("a") && isInText(place)) && place.getClientRects().length > 0;
    const cardOf = (place) =>
        getComputedStyle(place, "::after").position === "absolute" ? place.closest(".hit") : null;
    const heights = (place) => [cardOf(place) ?? place, ...(place.labels ?? [])]
        .map((one) => one.getBoundingClientRect().height);
    return [...document.querySelectorAll(
        "a, button, input, select, textarea, summary, audio, [data-hit]"
    )].filter(isMeant).filter((place) => Math.max(...heights(place)) < least - 0.01)
        .map((place) => `${place.outerHTML.slice(0, 80)} ${Math.max(...heights(place))}`);
}"""

UNFOLD = "() => document.querySelectorAll('details').forEach((each) => { each.open = true; })"
NARROW = {"width": 320, "height": 640}  # WCAG 2.2, success criterion 1.4.10 (reflow)
WIDTH = "document.documentElement.scrollWidth"

# All rules; only what is wrong comes back, since the long lists of what is right take most time.
RUN_AXE = "() => axe.run({ resultTypes: ['violations'] }).then((found) => found.violations)"
# All but the contrast of colours, which takes over a third of the time (nine pages measured).
RUN_AXE_COLOUR_BLIND = """() => axe.run({
    resultTypes: ["violations"], rules: { "color-contrast": { enabled: false } },
}).then((found) => found.violations)"""


def _violations(page: Page, rules: str) -> list[str]:
    return [
        f"{each['id']}: {node['html'][:120]}"
        for each in page.evaluate(rules)
        for node in each["nodes"]
    ]


View = tuple[dict[str, int], Literal["light", "dark"]]
# Each size and each set of colours; colours do not depend on the width of a page (`tokens.css`).
VIEWS: tuple[View, ...] = ((DESKTOP, "light"), (NARROW, "dark"))
AT_THE_STAND = {
    "bin",
    "compare",
    "entry with takes",
    "entry without takes",
    "instrument",
    "log",
    "log from a base",
    "long recordings",
    "practice session",
    "practice sessions",
    "range",
    "search with hits",
    "start",
}


# The same page as a sister looked at every day, with other rows of the same kinds.
LONG_PLACES = {
    "entry that does not speak",  # "entry without takes"
    "entry with a take that does not count",  # "entry with takes"
    "long recording in order",  # "long recording"
    "plan asked for",  # "plan"
    "range in eighth tones",  # "range"
    "range narrowed down",
    "search on every instrument",  # "search with hits"
    "suggestions between two notes",  # "suggestions"
    "take that does not count",  # "take"
}


VIEWS_THINNED = pytest.mark.parametrize(
    "views",
    [
        pytest.param(VIEWS[1:], id="narrow, dark"),
        pytest.param(VIEWS, id="every view", marks=pytest.mark.long_run),
    ],
)
"""For a page in a state of its own: every day on a narrow phone in the dark."""
COLOURS_DAILY = 3  # of so many places one has its contrast looked at every day


def alternate(places: Iterable[str]) -> list[ParameterSet]:
    """Give places, views and axe's rules: one view of each place is for every day, by turns.

    Every third of those is looked at by all rules, so light and dark take turns there as well; the
    others by all but contrast. The long run looks at every place in every view by all rules.
    """
    cases = []
    for number, place in enumerate(places):
        for turn, view in enumerate(VIEWS):
            name = f"{place}, {view[0]['width']} px, {view[1]}"
            is_daily = number % len(VIEWS) == turn and place not in LONG_PLACES
            has_colours = is_daily and number % COLOURS_DAILY == 0
            marks = () if has_colours else pytest.mark.long_run
            cases.append(pytest.param(place, view, RUN_AXE, marks=marks, id=name))
            if is_daily and not has_colours:
                name += ", all but contrast"
                cases.append(pytest.param(place, view, RUN_AXE_COLOUR_BLIND, id=name))
    return cases


def resize(page: Page, size: dict[str, int]) -> None:
    """Make the window as large as a sheet of `visiting`, where it is not: the page is set anew."""
    if page.viewport_size != size:
        page.set_viewport_size({"width": size["width"], "height": size["height"]})


def check_everywhere(
    page: Page, views: Sequence[View] = VIEWS, rules: str = RUN_AXE
) -> dict[str, list[str]]:
    """Run axe on a page in one view after the other; what is wrong, by the set of colours."""
    page.evaluate(Axe().axe_script)
    found = {}
    for size, scheme in views:
        resize(page, size)
        page.emulate_media(color_scheme=scheme)
        found[scheme] = _violations(page, rules)
    return {scheme: violations for scheme, violations in found.items() if violations}


@pytest.fixture(scope="module")
def reader(browser: Browser, looked_at: Site) -> Iterator[Visitor]:
    """One profile and tab for all pages: starting one takes longer than reading a page."""
    visitor = make_visitor(browser, looked_at, has_one_tab=True)
    yield visitor
    visitor.context.close()


@pytest.mark.parametrize(("place", "view", "rules"), alternate(PLACES))
def test_it_is_no_wider_than_a_phone_and_axe_finds_nothing_to_mend(
    reader: Visitor, rows: Filled, place: str, view: View, rules: str
) -> None:
    if reader.context.pages:  # as the last place left it
        resize(reader.context.pages[0], NARROW)
    page = PLACES[place](reader, rows)
    page.evaluate(UNFOLD)  # what is folded away is looked at as well
    resize(page, NARROW)

    assert page.evaluate(WIDTH) <= NARROW["width"]
    assert check_everywhere(page, [view], rules) == {}
    if place in AT_THE_STAND:
        # a finger hits everything: WCAG 2.2, success criterion 2.5.5 (target size, enhanced)
        resize(page, PHONE)
        assert page.evaluate(SMALL_TARGETS, 44) == []
        assert len(page.evaluate(SMALL_TARGETS, 2000)) > 10
    assert reader.faults == []  # nothing left the origin, and no policy was broken


@pytest.mark.parametrize(("place", "view", "rules"), alternate(EMPTY_PLACES))
def test_axe_finds_nothing_to_mend_in_an_empty_notebook(
    visit: Visit, empty_looked_at: Site, rows: Filled, place: str, view: View, rules: str
) -> None:
    page = EMPTY_PLACES[place](visit(empty_looked_at), rows)

    assert check_everywhere(page, [view], rules) == {}


@pytest.mark.parametrize(
    "rules",
    [RUN_AXE_COLOUR_BLIND, pytest.param(RUN_AXE, marks=pytest.mark.long_run)],
    ids=["all but contrast", "all"],
)
def test_axe_would_find_something(visit: Visit, looked_at: Site, rules: str) -> None:
    page = visit(looked_at).open("/search")
    page.locator("label[for=q]").evaluate("label => label.remove()")

    found = check_everywhere(page, rules=rules)

    assert len(found) == 2
    assert all(any("label" in each for each in violations) for violations in found.values())


def test_axe_would_find_a_pale_word_by_night(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at).open("/search")
    page.evaluate(
        """() => {
            const sheet = new CSSStyleSheet();
            sheet.replaceSync("@media (prefers-color-scheme: dark) { h1 { color: #333; } }");
            document.adoptedStyleSheets = [sheet];
        }"""
    )

    found = check_everywhere(page)

    assert len(found) == 1
    assert all(any("contrast" in each for each in violations) for violations in found.values())


@pytest.mark.parametrize("size", [PHONE, SMALL_PHONE])
def test_what_is_done_with_a_note_of_the_list_stands_on_one_line(
    visit: Visit, looked_at: Site, rows: Filled, size: dict[str, int]
) -> None:
    page = PLACES["open session with a list"](visit(looked_at, size=size), rows)
    for row in page.locator(".practice-list .actions").all():
        buttons = row.locator(":scope > form > button, :scope > details > summary")
        # all at one moment: what scripts unfold above moves the list down
        boxes = buttons.evaluate_all(
            "all => all.map((one) => one.getBoundingClientRect().toJSON())"
        )
        assert len(boxes) == 2  # done, and the rest under More
        assert len({box["y"] for box in boxes}) == 1
        assert all(box["width"] >= 44 and box["height"] >= 44 for box in boxes)


def test_a_long_choice_is_not_cut_on_a_small_phone(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at, size=SMALL_PHONE).open("/instruments/new")
    choice = page.locator("#model")
    heights = set()
    for value in ("b-flat-soprano|soprano-17-6", "b-flat-bass|bass-low-eb-two-register-keys"):
        choice.select_option(value)
        heights.add(choice.evaluate("field => field.offsetHeight"))
    assert len(heights) == 2  # a second line where the first is full
