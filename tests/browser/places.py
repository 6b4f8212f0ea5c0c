"""Every page and every state of a page, and the way there."""

from collections.abc import Callable

from playwright.sync_api import Page

from tests.browser.visiting import Visitor
from tests.webapp.logging_rows import Filled

Opener = Callable[[Visitor, Filled], Page]
# The pieces of `fill_pieces`: one with a row in every table, one that leaves a question open.
PIECE, ASKING_PIECE = "/pieces/1", "/pieces/2"


def _at(path: str) -> Opener:
    """Go to an address; names in braces are rows of the filled notebook."""
    return lambda visitor, rows: visitor.open(path.format_map(vars(rows)))


def _open_refused_log(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/instruments/{rows.soprano}/fingerings/new")
    page.fill("#target", "D")
    _send(page, "Save")
    return page


def _open_refused_clip(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/fingerings/{rows.base}")
    page.get_by_text("Attach a recording").click()
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
    _send(page, "Save")
    return page


def _open_stale_instrument(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/instruments/{rows.soprano}/edit")
    _age(page)
    _send(page, "Save")
    return page


def _open_stale_fingering(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/fingerings/{rows.base}/edit")
    _age(page)
    _send(page, "Save")
    return page


def _age(page: Page) -> None:
    """Make the form one that was opened before the last change."""
    page.locator("#version").evaluate("field => { field.value = '0'; }")


def _send(page: Page, button: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=button, exact=True).click()


def _open_faulty_layout(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/layouts/{rows.own_layout}/edit")
    # set at once: chromium takes seconds to put a text of that length in as if it were typed
    page.locator("#toml").evaluate(
        """field => { field.value = field.value.replace('hand = "left"', 'hand = "third"'); }"""
    )
    _send(page, "Look at it")
    return page


def _open_layout_looked_at(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/layouts/{rows.own_layout}/edit")
    _send(page, "Look at it")
    return page


def _open_unreadable_keys(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"/instruments/{rows.soprano}/fingerings/new")
    page.fill("#target", "B4")
    page.locator("#keys_text").evaluate("field => { field.value = 'T spoon'; }")
    _send(page, "Save")
    return page


def _open_binned_notice(visitor: Visitor, rows: Filled) -> Page:
    """The notice with Undo; the row is taken back out, so that the notebook stays as it was."""
    page = visitor.open(f"/fingerings/{rows.silent}")
    page.get_by_role("tab", name="Notes").click()
    _send(page, "Move to bin")
    page.locator(".notice form").evaluate(
        "form => fetch(form.action, { method: 'POST', body: new FormData(form) })"
    )
    return page


def _open_when_computed(path: str) -> Opener:
    """Go to an address and wait until what it shows is computed."""

    def go(visitor: Visitor, rows: Filled) -> Page:
        page = visitor.open(path.format_map(vars(rows)))
        page.wait_for_selector("main:not(:has([data-working]))", timeout=180_000)
        return page

    return go


def _open_try_list(visitor: Visitor, rows: Filled) -> Page:
    """Put a suggestion on the list, once, and look at the list."""
    _open_when_computed("/instruments/{soprano}/next?q=G5-50c")(visitor, rows)
    page = visitor.open(f"/instruments/{rows.soprano}/tries")
    if not page.locator(".suggestion").count():
        page = visitor.open(f"/instruments/{rows.soprano}/next?q=G5-50c")
        with page.expect_navigation():
            page.locator("details.suggestion > summary").first.click()
            page.locator("button[value=list]").first.click()
        page = visitor.open(f"/instruments/{rows.soprano}/tries")
    return page


def _open_session(visitor: Visitor, rows: Filled) -> Page:
    """Begin a session with a list on the soprano, once, and look at it."""
    page = visitor.open(f"/instruments/{rows.soprano}/practice")
    if page.get_by_role("button", name="Begin a session").count():
        _send(page, "Begin a session")
        page.fill("#targets", "D5 -50, C#5 +25, G6 +50")
        page.locator("form[action$=typed] button[type=submit]").click()
        page.wait_for_url("**#list")
        _send(page, "Add what waits for a recording")
        with page.expect_navigation():
            page.locator(".practice-more > summary").first.click()
            page.locator("form:has([value=skipped]) button").first.click()
        return page
    page.get_by_role("link", name="Go on with it").click()
    return page


def _open_stand(visitor: Visitor, rows: Filled) -> Page:
    page = _open_session(visitor, rows)
    page.get_by_role("link", name="To the stand", exact=True).click()
    page.wait_for_selector(".stand.is-live")
    return page


def _open_stand_of(query: str) -> Opener:
    """Go to the stand of the soprano and wait until it is live."""

    def go(visitor: Visitor, rows: Filled) -> Page:
        page = visitor.open(f"/instruments/{rows.soprano}/stand{query}")
        page.wait_for_selector(".stand.is-live")
        return page

    return go


def _open_refused_targets(visitor: Visitor, rows: Filled) -> Page:
    page = _open_session(visitor, rows)
    page.locator("#targets").evaluate("field => { field.value = 'D5, spoon'; }")
    with page.expect_navigation():
        page.locator("form[action$=typed]").evaluate("form => form.requestSubmit()")
    return page


def _open_refused_piece(visitor: Visitor, rows: Filled) -> Page:
    del rows
    page = visitor.open("/pieces/new")
    page.get_by_text("Typed from paper").click()
    page.fill("#text", "1: D5 -50, spoon")
    _send(page, "Add the piece")
    return page


def _open_refused_run(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"{PIECE}/run-throughs/on/{rows.soprano}")
    page.set_input_files(
        "#clip", {"name": "letter.wav", "mimeType": "audio/wav", "buffer": b"Dear reader"}
    )
    _send(page, "Find the notes")
    return page


def _open_refused_passage(visitor: Visitor, rows: Filled) -> Page:
    page = visitor.open(f"{PIECE}/on/{rows.soprano}/passages/")
    page.fill("#bars", "99")
    page.fill("#tempo", "60")
    _send(page, "Find the fingerings")
    return page


PLACES: dict[str, Opener] = {
    "start": _at("/"),
    "new instrument": _at("/instruments/new"),
    "refused instrument": _open_refused_instrument,
    "instrument": _at("/instruments/{soprano}"),
    "instrument without takes": _at("/instruments/{bass}"),
    "change instrument": _at("/instruments/{soprano}/edit"),
    "stale instrument": _open_stale_instrument,
    "hand on": _at("/instruments/{soprano}/hand-on?low=C5"),
    "from others": _at("/received"),
    "from a player": _at("/received/{sender}"),
    "fingering of a player": _at("/received/fingerings/1"),
    "log": _at("/instruments/{soprano}/fingerings/new"),
    "log from a base": _at("/instruments/{bass}/fingerings/new?base=logged:{on_bass}"),
    "refused log": _open_refused_log,
    "entry with takes": _at("/fingerings/{base}"),
    "entry without takes": _at("/fingerings/{half_hole}"),
    "entry with a take that does not count": _at("/fingerings/{grandchild}"),
    "take that does not count": _at("/takes/{strange_take}"),
    "unsorted takes": _at("/instruments/{soprano}/unsorted"),
    "unsorted take": _at("/takes/{unsorted_take}"),
    "entry that does not speak": _at("/fingerings/{silent}"),
    "entry with a refused clip": _open_refused_clip,
    "change fingering": _at("/fingerings/{base}/edit"),
    "stale fingering": _open_stale_fingering,
    "take": _at("/takes/{take}"),
    "take without a pitch": _at("/takes/{noise_take}"),
    "take seen closely": _at("/takes/{take}?from=0.2&to=0.6&low=300&high=3000"),
    "practice sessions": _at("/instruments/{bass}/practice"),
    "practice session": _at("/practice/{practice}"),
    "open session with a list": _open_session,
    "refused targets": _open_refused_targets,
    "stand": _open_stand,
    "stand without a fingering": _open_stand_of("?q=G6+%2B50"),
    "stand of one fingering": _at("/fingerings/{base}/stand"),
    "stand with nothing on it": _open_stand_of(""),
    "stand not understood": _at("/instruments/{soprano}/stand?q=spoon"),
    "changes": _at("/instruments/{soprano}/loops"),
    "long recordings": _at("/instruments/{bass}/recordings"),
    "long recording": _at("/recordings/{recording}"),
    "long recording in order": _at("/recordings/{recording}?order=rising"),
    "note": _at("/instruments/{soprano}/notes/C%235+25c"),
    "note without a fingering": _at("/instruments/{soprano}/notes/E5-50c"),
    "note not understood": _at("/instruments/{soprano}/notes?q=spoon"),
    "search": _at("/search"),
    "search with hits": _at("/search?q=C%235+%2B25&instrument={soprano}"),
    "search on every instrument": _at("/search?q=440+Hz&within=900&instrument="),
    "search with nothing yet": _at("/search?q=G4&instrument={soprano}"),
    "search not understood": _at("/search?q=nonsense&instrument={soprano}"),
    "what to try next": _at("/instruments/{soprano}/next"),
    "suggestions": _open_when_computed("/instruments/{soprano}/next?q=G5-50c&colour=below"),
    "suggestions refused": _at("/instruments/{soprano}/next?q=D5&free=thumb&down=thumb"),
    "suggestions between two notes": _open_when_computed(
        "/instruments/{soprano}/next?q=G5-50c&before=F5&after=A5"
    ),
    "trill asked for": _at("/instruments/{soprano}/trill"),
    "trill": _open_when_computed("/instruments/{soprano}/trill?q=F5&to=F%235"),
    "other colours": _open_when_computed("/instruments/{soprano}/colours?q=E5"),
    "try list": _open_try_list,
    "predictions": _at("/instruments/{soprano}/predictions"),
    "first day": _open_when_computed("/instruments/{soprano}/first-day"),
    "key effects": _at("/instruments/{soprano}/key-effects"),
    "plan asked for": _at("/instruments/{soprano}/plan"),
    "plan": _open_when_computed("/instruments/{soprano}/plan?grid=24&low=C5&high=G5"),
    "range": _at("/instruments/{soprano}/range"),
    "range in eighth tones": _at("/instruments/{bass}/range?grid=48"),
    "range narrowed down": _at("/instruments/{soprano}/range?grid=12&measured=y&within=40"),
    "range refused": _at("/instruments/{soprano}/range?within=wide"),
    "pieces": _at("/pieces/"),
    "new piece": _at("/pieces/new"),
    "refused piece": _open_refused_piece,
    "piece": _at(PIECE),
    "change piece": _at(PIECE + "/change"),
    "changes of a piece": _at(PIECE + "/changes"),
    "questions of a piece": _at(ASKING_PIECE + "/questions/"),
    "piece without a question": _at(PIECE + "/questions/"),
    "note of a piece": _at(PIECE + "/on/{soprano}/notes/D5-50c"),
    "passages": _at(PIECE + "/on/{soprano}/passages/"),
    "refused passage": _open_refused_passage,
    "passage": _open_when_computed(PIECE + "/passages/1"),
    "run-throughs": _at(PIECE + "/run-throughs/on/{soprano}"),
    "refused run-through": _open_refused_run,
    "run-through": _at(PIECE + "/run-throughs/1"),
    "letter to the composer": _at(PIECE + "/letter/{soprano}/"),
    "sheets of a piece": _at(PIECE + "/sheets/"),
    "own pages": _at(PIECE + "/pages/"),
    "own pages, nothing yet": _at(ASKING_PIECE + "/pages/"),
    "concert": _at(PIECE + "/concert/"),
    "charts": _at("/charts"),
    "chart": _at("/instruments/{soprano}/chart"),
    "chart refused": _at("/instruments/{soprano}/chart.pdf?low=nonsense"),
    "for composers": _open_when_computed("/instruments/{soprano}/for-composers"),
    "layouts": _at("/layouts/"),
    "layout": _at("/layouts/{own_layout}"),
    "new layout": _at("/layouts/new"),
    "faulty layout": _open_faulty_layout,
    "layout looked at": _open_layout_looked_at,
    "keys of an instrument": _at("/instruments/{soprano}/keys/change"),
    "entry seen by a teacher": _at("/fingerings/{base}?mirrored=1&reduced=1"),
    "typed keys not understood": _open_unreadable_keys,
    "compare": _at("/compare?first=logged:{base}&second=logged:{child}"),
    "compare nothing yet": _at("/compare"),
    "bin": _at("/bin/"),
    "undo": _open_binned_notice,
    "preferences": _at("/preferences"),
    "tablet": _at("/sharing"),
    "offline": _at("/offline"),
    "about": _at("/about"),
    "help": _at("/help"),
    "nothing there": _at("/nothing-there"),
}
EMPTY_PLACES = {
    name: PLACES[name]
    for name in ("start", "search", "charts", "bin", "pieces", "new piece", "from others")
}
