"""A visitor with a browser window, who notes everything that a page does wrong."""

from dataclasses import dataclass, field
from typing import Literal

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request

from tests.browser.played_microphone import MICROPHONE
from tests.browser.serving import Site

PHONE = {"width": 390, "height": 844}
SMALL_PHONE = {"width": 360, "height": 640}
DESKTOP = {"width": 1280, "height": 900}
LAPTOP = {"width": 1280, "height": 800}
TABLET = {"width": 820, "height": 1180}
TABLET_ON_ITS_SIDE = {"width": 1180, "height": 820}

WORKERS_BLOCKED = "Service Worker registration blocked by Playwright"
# A violation is reported to the page it happens on (CSP level 3, section 5.3), also where the
# console stays silent.
REPORT_VIOLATIONS = """document.addEventListener("securitypolicyviolation", (event) => {
    console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`);
});"""


@dataclass
class Visitor:
    """One browser profile on one site; `faults` must be empty at the end.

    With `has_one_tab` every page opens in the same tab, which is faster.
    """

    site: Site
    context: BrowserContext
    has_one_tab: bool = False
    faults: list[str] = field(default_factory=list)
    requests: list[Request] = field(default_factory=list)

    def open(self, path: str) -> Page:
        """Open a page of the notebook in a new tab."""
        if self.has_one_tab and self.context.pages:
            page = self.context.pages[0]
        else:
            page = self._open_tab()
        page.goto(self.site.origin + path)
        return page

    def _open_tab(self) -> Page:
        page = self.context.new_page()
        page.on("console", self._note_console)
        page.on("pageerror", lambda error: self.faults.append(f"script: {error}"))
        page.on("request", self._note_request)
        page.on("requestfailed", self._note_failure)
        return page

    def _note_console(self, message: ConsoleMessage) -> None:
        # A refusal is a page with a status of its own; chromium reports that status as an error.
        is_refusal = "the server responded with a status of 4" in message.text
        is_ours = message.text == WORKERS_BLOCKED
        if message.type in ("error", "warning") and not (is_refusal or is_ours):
            self.faults.append(f"console: {message.text}")

    def _note_request(self, request: Request) -> None:
        self.requests.append(request)
        if not request.url.startswith((self.site.origin + "/", "blob:", "data:")):
            self.faults.append(f"left the origin: {request.url}")

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
    scheme: Literal["light", "dark"] = "light",
    has_one_tab: bool = False,
    has_workers: bool = False,
    is_played_to: bool = False,
) -> Visitor:
    """Start a fresh browser profile: a phone with touch, or a desktop.

    Service workers stay out unless they are what a test is about: they ask for pages once more.
    `is_played_to`: its microphone is the one of `played_microphone`.
    """
    is_phone = size in (PHONE, SMALL_PHONE)
    context = browser.new_context(
        viewport={"width": size["width"], "height": size["height"]},
        has_touch=is_phone,
        is_mobile=is_phone,
        java_script_enabled=has_scripts,
        color_scheme=scheme,
        reduced_motion="reduce",
        accept_downloads=True,
        service_workers="allow" if has_workers else "block",
        ignore_https_errors=site.origin.startswith("https:"),
    )
    context.set_default_timeout(30_000)
    context.set_default_navigation_timeout(60_000)  # a busy machine is no fault of a page
    context.add_init_script(REPORT_VIOLATIONS)
    if is_played_to:
        context.add_init_script(MICROPHONE)
    return Visitor(site, context, has_one_tab)
