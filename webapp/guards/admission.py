"""Admission of other devices: nobody gets in without the passphrase.

The shared listener serves an application of its own (`webapp.app.create_shared_app`). So whether a
request is local is decided by the socket it came in on, and nothing that it says can change that:
the application on 127.0.0.1 has no sign-in, and this one has no way round it.

Every address but the few in `OPEN` asks for a cookie with today's mark, before any view or the
database is reached. A browser that opens a page is led to the sign-in page; anything else gets 401,
as JSON where a script asked (RFC 9110, section 15.5.2).
"""

from http import HTTPStatus
from urllib.parse import urlencode, urlsplit

from flask import Flask, abort, redirect, render_template, request, url_for
from flask import session as cookie
from werkzeug.wrappers import Response

from webapp.presenting import json_answers
from webapp.sharing.access import SharedAccess

OPEN = frozenset(
    {
        "static",
        "assets.font",
        "web_app.manifest",
        "web_app.worker",
        "web_app.offline",
        "sign_in.enter",
    }
)
MARK = "device"
SIGN_IN_DAYS = 90
STRANGERS_BODY_BYTES = 64 << 10
SIGNED_OUT = (
    "This device is signed out, so nothing was changed. Sign in again, go back and send it once "
    "more: a draft of your text is kept in the browser, and so are takes that wait."
)


def guard(app: Flask, access: SharedAccess) -> None:
    """Put the rules above in force for every route of `app`."""
    app.config.update(
        TRUSTED_HOSTS=list(access.hosts.texts),
        SESSION_COOKIE_SECURE=True,
        # The prefix keeps other servers on this host from planting one (RFC 6265bis, 4.1.3.2).
        SESSION_COOKIE_NAME=f"__Host-{app.config['SESSION_COOKIE_NAME']}",
        PERMANENT_SESSION_LIFETIME=SIGN_IN_DAYS * 24 * 3600,
    )

    def admit() -> Response | tuple[str, int, dict[str, str]] | None:
        # Asking for the host refuses one that is not ours; its port is compared here.
        if request.host not in access.host_headers:
            abort(HTTPStatus.BAD_REQUEST)
        if access.is_signed_in(cookie.get(MARK)):
            return None
        request.max_content_length = STRANGERS_BODY_BYTES
        return None if request.endpoint in OPEN else _turn_away()

    app.before_request(admit)
    app.context_processor(lambda: {"is_outside": not access.is_signed_in(cookie.get(MARK))})


def _turn_away() -> Response | tuple[str, int, dict[str, str]]:
    is_for_script = json_answers.is_for_script()
    if request.method in ("GET", "HEAD") and _is_for_reading() and not is_for_script:
        query = urlencode({"next": request.full_path.rstrip("?")})
        return redirect(f"{url_for('sign_in.enter')}?{query}")
    challenge = {"WWW-Authenticate": 'Form realm="Quartervent"'}
    if is_for_script or request.headers.get("Sec-Fetch-Dest") == "empty":
        refusal = json_answers.refuse(HTTPStatus.UNAUTHORIZED, SIGNED_OUT)
        refusal.headers.update(challenge)
        return refusal
    page = render_template("error.html", heading="Signed out", message=SIGNED_OUT, status=401)
    return page, HTTPStatus.UNAUTHORIZED, challenge


def _is_for_reading() -> bool:
    """Tell whether somebody opens a page.

    Fetch Metadata alone does not tell: where the service worker asks for a page, the browser says
    "empty" as for any script. The page's own Accept header comes through.
    """
    dest = request.headers.get("Sec-Fetch-Dest", "document")
    return dest == "document" or "text/html" in request.headers.get("Accept", "")


def own_path(address: str) -> str:
    """Return an address to go on to if it lies in this notebook, else the start page.

    >>> own_path("/fingerings/3?plain=1"), own_path("//elsewhere.example/"), own_path("/\\\\x")
    ('/fingerings/3?plain=1', '/', '/')
    """
    try:
        parts = urlsplit(address)
    except ValueError:
        return "/"
    is_plain = address.isprintable() and "\\" not in address
    is_own = address.startswith("/") and not (parts.scheme or parts.netloc)
    return address if is_plain and is_own else "/"
