"""A visitor with a browser window, who notes everything that a page does wrong."""

from collections.abc import Hashable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Literal

from playwright.sync_api import (
    Browser,
    BrowserContext,
    CDPSession,
    ConsoleMessage,
    Error,
    Page,
    Request,
    ViewportSize,
)

from tests.browser.played_microphone import MICROPHONE
from tests.browser.serving import Site

PHONE = {"width": 390, "height": 844}
SMALL_PHONE = {"width": 360, "height": 640}
DESKTOP = {"width": 1280, "height": 900}
LAPTOP = {"width": 1280, "height": 800}
TABLET = {"width": 820, "height": 1180}
TABLET_ON_ITS_SIDE = {"width": 1180, "height": 820}

Scheme = Literal["light", "dark"]

WORKERS_BLOCKED = "Service Worker registration blocked by Playwright"
# A violation is reported to the page it happens on (CSP level 3, section 5.3), also where the
# console stays silent.
REPORT_VIOLATIONS = """document.addEventListener("securitypolicyviolation", (event) => {
    console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`);
});"""


def is_touched(size: dict[str, int]) -> bool:
    """Whether a sheet is the one of a phone."""
    return size in (PHONE, SMALL_PHONE)


NEARLY_EMPTY = "/static/css/live.css"
IS_SEEN_AS = """(scheme) => ["screen", scheme, "(prefers-reduced-motion: reduce)"]
    .every((wanted) => matchMedia(wanted).matches)"""
NO_SUGGESTIONS = """(() => {
    const ask = window.fetch;
    const isOfThem = (url) => String(url).includes("/stand/suggestions");
    window.fetch = (url, ...more) =>
        isOfThem(url) ? Promise.resolve(new Response("")) : ask(url, ...more);
})()"""
# A script stays with its profile for good, so each looks whether this visit asks for it.
PLAYED_TO, NOT_SUGGESTED_TO = "a-test-plays", "a-test-wants-no-suggestions"
WHERE_ASKED_FOR = """if (location.protocol.startsWith("http")
    && document.cookie.split("; ").includes("{cookie}=1")) {{ {script} }}"""


@dataclass
class Visitor:
    """One browser profile on one site; `faults` must be empty at the end.

    With `has_one_tab` every page opens in the same tab, which is faster. `is_alone`: there is
    something in its tabs that cannot be taken out again, so they are not handed on. `requests` are
    kept where a test asks for that: to be told of each costs an eighth of opening a page.
    """

    site: Site
    context: BrowserContext
    size: dict[str, int] = field(default_factory=lambda: PHONE)
    scheme: Scheme = "light"
    has_one_tab: bool = False
    is_alone: bool = False
    faults: list[str] = field(default_factory=list)
    requests: list[Request] = field(default_factory=list)
    empty_tab: Page | None = None
    keeps_requests: bool = False
    _scripts: list[str] = field(default_factory=list)
    _storage: tuple[Page, CDPSession] | None = None

    def begin(
        self,
        site: Site,
        *,
        size: dict[str, int] = PHONE,
        scheme: Scheme = "light",
        has_one_tab: bool = False,
        is_played_to: bool = False,
        is_suggested_to: bool = True,
        is_alone: bool = False,
        keeps_requests: bool = False,
    ) -> None:
        """Begin a visit with what may differ between two visits of one profile."""
        self.site, self.size, self.scheme = site, size, scheme
        self.has_one_tab, self.keeps_requests = has_one_tab, keeps_requests
        self.is_alone = is_alone or keeps_requests
        for cookie, is_wanted in (
            (PLAYED_TO, is_played_to),
            (NOT_SUGGESTED_TO, not is_suggested_to),
        ):
            if is_wanted:
                self.context.add_cookies([{"name": cookie, "value": "1", "url": site.origin}])
        if self.empty_tab is not None:
            self._dress(self.empty_tab)

    def open(self, path: str) -> Page:
        """Open a page of the notebook in a new tab."""
        if self.has_one_tab and self.context.pages:
            page = self.context.pages[0]
        else:
            page = self.empty_tab or self._open_tab()
        self.empty_tab = None
        page.goto(self.site.origin + path)
        return page

    def close(self, page: Page) -> None:
        """Close a tab; what is opened next has a new one, in the same process."""
        if self.empty_tab is None:
            self.empty_tab = self._open_tab()
            self.empty_tab.goto(self.site.origin + NEARLY_EMPTY)
        page.close()

    def add_script(self, script: str) -> None:
        """Run a script before those of every page from now on."""
        self.is_alone = True
        self._scripts.append(script)
        for page in self.context.pages:
            page.add_init_script(script)

    def empty(self) -> None:
        """Make the profile as it was when it was fresh, but for one tab and the files of the site.

        Raises:
            playwright.sync_api.Error: it is closed.
        """
        self.context.unroute_all()
        self.context.set_offline(False)
        first, *others = self.context.pages or [self._open_tab()]
        if self.is_alone:
            self._scripts.clear()
            first, others = self._open_tab(), [first, *others]
        for page in others:
            page.close()
        first.unroute_all()
        if first.url.startswith(self.site.origin):
            first.evaluate("sessionStorage.clear()")
        # not the empty page: for that, and after it, chromium would start a process anew
        first.goto(self.site.origin + NEARLY_EMPTY)
        if self._storage is None or self._storage[0] is not first:
            self._storage = first, self.context.new_cdp_session(first)
        wish = {"origin": self.site.origin, "storageTypes": "all"}
        self._storage[1].send("Storage.clearDataForOrigin", wish)
        self.context.clear_cookies()
        first.mouse.move(0, 0)
        self.faults.clear()
        self.requests.clear()
        self.empty_tab = first

    def _open_tab(self) -> Page:
        page = self.context.new_page()
        page.on("console", self._note_console)
        page.on("pageerror", lambda error: self.faults.append(f"script: {error}"))
        page.on("requestfailed", self._note_failure)
        for script in self._scripts:
            page.add_init_script(script)
        self._dress(page)
        return page

    def _dress(self, page: Page) -> None:
        """Give a tab the size and the colours of this visit."""
        if self.keeps_requests:
            page.on("request", self._note_request)
        if page.viewport_size != self.size:
            width, height = self.size["width"], self.size["height"]
            page.set_viewport_size(ViewportSize(width=width, height=height))
        if not page.evaluate(IS_SEEN_AS, f"(prefers-color-scheme: {self.scheme})"):
            page.emulate_media(media="screen", color_scheme=self.scheme, reduced_motion="reduce")

    def _note_console(self, message: ConsoleMessage) -> None:
        # A refusal is a page with a status of its own; chromium reports that status as an error.
        is_refusal = "the server responded with a status of 4" in message.text
        is_ours = message.text == WORKERS_BLOCKED
        if message.type in ("error", "warning") and not (is_refusal or is_ours):
            self.faults.append(f"console: {message.text}")

    def _note_request(self, request: Request) -> None:
        self.requests.append(request)

    def _note_failure(self, request: Request) -> None:
        # A download, and a page left while it loads, end as "aborted".
        if request.failure and "ERR_ABORTED" not in request.failure:
            self.faults.append(f"failed: {request.url} {request.failure}")


def make_visitor(
    browser: Browser,
    site: Site,
    *,
    size: dict[str, int] = PHONE,
    has_scripts: bool = True,
    has_workers: bool = False,
    **more: Any,
) -> Visitor:
    """Start a fresh browser profile: a phone with touch, or a desktop; `more` as `Visitor.begin`.

    Service workers stay out unless they are what a test is about: they ask for pages once more.
    `is_played_to`: its microphone is the one of `played_microphone`. Without `is_suggested_to` the
    stand asks for no suggestions: that makes a model first.
    """
    context = browser.new_context(
        viewport={"width": size["width"], "height": size["height"]},
        has_touch=is_touched(size),
        is_mobile=is_touched(size),
        java_script_enabled=has_scripts,
        color_scheme="light",
        reduced_motion="reduce",
        accept_downloads=True,
        service_workers="allow" if has_workers else "block",
        ignore_https_errors=site.origin.startswith("https:"),
    )
    context.set_default_timeout(30_000)
    context.set_default_navigation_timeout(60_000)  # a busy machine is no fault of a page
    context.add_init_script(REPORT_VIOLATIONS)
    for cookie, script in ((PLAYED_TO, MICROPHONE), (NOT_SUGGESTED_TO, NO_SUGGESTIONS)):
        context.add_init_script(WHERE_ASKED_FOR.format(cookie=cookie, script=script))
    visitor = Visitor(site, context)
    visitor.begin(site, size=size, **more)
    return visitor


class Profiles:
    """Browser profiles that are handed on from one visit to the next of the same kind.

    To start one, and to fetch the files of the site, takes most of the time of a short visit.
    """

    def __init__(self) -> None:
        self._free: dict[Hashable, Visitor] = {}

    def take(
        self,
        browser: Browser,
        site: Site,
        *,
        size: dict[str, int] = PHONE,
        has_scripts: bool = True,
        has_workers: bool = False,
        **more: Any,
    ) -> tuple[Hashable, Visitor]:
        """A profile as if fresh, and its kind; None where it cannot be handed on."""
        # Whether a certificate is trusted is fixed when a profile is made.
        scheme = site.origin.partition(":")[0]
        kind = None if has_workers else (id(browser), scheme, is_touched(size), has_scripts)
        visitor = self._free.pop(kind, None)
        if visitor is None:
            made_of: dict[str, Any] = {"has_scripts": has_scripts, "has_workers": has_workers}
            return kind, make_visitor(browser, site, size=size, **made_of, **more)
        visitor.begin(site, size=size, **more)
        return kind, visitor

    def hand_back(self, kind: Hashable, visitor: Visitor) -> None:
        """Take a profile back after a visit, while the site is there; a second of a kind goes."""
        if not (kind is None or visitor.faults or kind in self._free):
            with suppress(Error):  # the test has closed it, or a page is beyond help
                visitor.empty()
                self._free[kind] = visitor
                return
        with suppress(Error):
            visitor.context.close()
