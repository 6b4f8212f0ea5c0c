"""Every page and every state of a page, and the way there."""

from collections.abc import Callable

from playwright.sync_api import Page

from tests.browser.visiting import Visitor
from tests.webapp.logging_rows import Filled

Opener = Callable[[Visitor, Filled], Page]


def _at(path: str) -> Opener:
    """Go to an address; names in braces are rows of the filled notebook."""
    return lambda visitor, rows: visitor.open(path.format_map(vars(rows)))


def _open_refused_log(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/instruments/{rows.soprano}/fingerings/new")
    page.fill("#target", "D")
    _send(page, "Keep in the notebook")
    return page


def _open_refused_clip(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/fingerings/{rows.base}")
    page.set_input_files(
        "#clip", {"name": "letter.wav", "mimeType": "audio/wav", "buffer": b"Dear reader"}
    )
    _send(page, "Measure and keep")
    return page


def _open_refused_instrument(visitor: Visitor, rows: Filled) -> Page:
    del rows
    page = visitor.open("/instruments/new")
    page.fill("#name", "Too low")
    page.fill("#tuning_a_hz", "300")
    _send(page, "Keep")
    return page


def _open_stale_instrument(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/instruments/{rows.soprano}/edit")
    _age(page)
    _send(page, "Keep")
    return page


def _open_stale_fingering(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/fingerings/{rows.base}/edit")
    _age(page)
    _send(page, "Keep in the notebook")
    return page


def _age(page: Page) -> None:
    """Make the form one that was opened before the last change."""
    page.locator("#version").evaluate("field => { field.value = '0'; }")


def _send(page: Page, button: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=button, exact=True).click()


def _open_binned_notice(visitor: Visitor, rows: Filled) -> Page:
    """The notice with Undo; the row is taken back out, so that the notebook stays as it was."""
    page = visitor.open(f"/fingerings/{rows.silent}")
    _send(page, "Put in the bin")
    page.locator(".notice form").evaluate(
        "form => fetch(form.action, { method: 'POST', body: new FormData(form) })"
    )
    return page


PLACES: dict[str, Opener] = {
    "start": _at("/"),
    "new instrument": _at("/instruments/new"),
    "refused instrument": _open_refused_instrument,
    "instrument": _at("/instruments/{soprano}"),
    "instrument without takes": _at("/instruments/{bass}"),
    "change instrument": _at("/instruments/{soprano}/edit"),
    "stale instrument": _open_stale_instrument,
    "log": _at("/instruments/{soprano}/fingerings/new"),
    "log from a base": _at("/instruments/{bass}/fingerings/new?base=logged:{on_bass}"),
    "refused log": _open_refused_log,
    "entry with takes": _at("/fingerings/{base}"),
    "entry without takes": _at("/fingerings/{half_hole}"),
    "entry that does not speak": _at("/fingerings/{silent}"),
    "entry with a refused clip": _open_refused_clip,
    "change fingering": _at("/fingerings/{base}/edit"),
    "stale fingering": _open_stale_fingering,
    "take": _at("/takes/{take}"),
    "take without a pitch": _at("/takes/{noise_take}"),
    "search": _at("/search"),
    "search with hits": _at("/search?q=C%235+%2B25&instrument={soprano}"),
    "search on every instrument": _at("/search?q=440+Hz&within=900&instrument="),
    "search with nothing yet": _at("/search?q=G4&instrument={soprano}"),
    "search not understood": _at("/search?q=nonsense&instrument={soprano}"),
    "charts": _at("/charts"),
    "chart": _at("/instruments/{soprano}/chart"),
    "chart refused": _at("/instruments/{soprano}/chart.pdf?low=nonsense"),
    "bin": _at("/bin/"),
    "undo": _open_binned_notice,
    "preferences": _at("/preferences"),
    "about": _at("/about"),
    "nothing there": _at("/nothing-there"),
}
EMPTY_PLACES = {name: PLACES[name] for name in ("start", "search", "charts", "bin")}
