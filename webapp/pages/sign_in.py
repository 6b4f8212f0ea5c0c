"""Signing in and out from other devices. The application on 127.0.0.1 has none of this."""

from http import HTTPStatus
from math import ceil

from flask import Response, current_app, redirect, render_template, request
from flask import session as cookie
from flask import url_for as address_of
from werkzeug.wrappers import Response as AnyResponse

from analysis.plain_text import clean_text
from webapp.guards.admission import MARK, SIGN_IN_DAYS, own_path
from webapp.notebook.store.errors import PassphraseMissing
from webapp.presenting.page_marks import MARK_HEADER, NOBODY
from webapp.sharing.access import SharedAccess


def current_access() -> SharedAccess:
    """Return who may enter this application."""
    access: SharedAccess = current_app.extensions["shared_access"]
    return access


def enter() -> AnyResponse:
    """Ask for the passphrase; the right one opens the page that was wanted."""
    wanted = own_path(request.values.get("next", ""))
    if current_access().is_signed_in(cookie.get(MARK)):
        return redirect(wanted)
    if request.method != "POST":  # HEAD too: only a form is a try
        return _ask(wanted)
    try:
        form = request.form
        found = current_access().enter(form.get("passphrase", ""), clean_text(form.get("name", "")))
    except PassphraseMissing:
        return _ask(wanted, "The passphrase was taken away at the machine itself, so nobody can "
                    "sign in now.", status=HTTPStatus.CONFLICT)  # fmt: skip
    if isinstance(found, str):
        cookie.clear()
        cookie[MARK] = found
        return redirect(wanted, HTTPStatus.SEE_OTHER)
    return _refuse(wanted, found)


def _refuse(wanted: str, wait_s: float) -> Response:
    if wait_s <= 0:
        problem = "This is not the passphrase. Look at capitals and spaces, and try again."
        return _ask(wanted, problem, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    seconds = ceil(wait_s)
    problem = (
        f"There were several wrong tries. Wait {_span(seconds)}, then try again. The machine "
        "itself, and devices that are signed in, are not held up."
    )
    answer = _ask(wanted, problem, status=HTTPStatus.TOO_MANY_REQUESTS)
    answer.headers["Retry-After"] = str(seconds)
    return answer


def _span(seconds: int) -> str:
    if seconds < 60:
        return "1 second" if seconds == 1 else f"{seconds} seconds"
    minutes = ceil(seconds / 60)
    return "1 minute" if minutes == 1 else f"{minutes} minutes"


def _ask(wanted: str, problem: str = "", *, status: int = HTTPStatus.OK) -> Response:
    page = render_template(
        "sign_in.html", wanted=wanted, problem=problem, sign_in_days=SIGN_IN_DAYS
    )
    # A browser that is signed out keeps no copies of pages: its service worker reads this.
    return Response(page, status, {MARK_HEADER: NOBODY})


def leave() -> AnyResponse:
    """Sign this device out; its cookie is dead, wherever a copy of it may lie."""
    current_access().leave(cookie.get(MARK))
    cookie.clear()
    answer = redirect(address_of("sign_in.enter"), HTTPStatus.SEE_OTHER)
    # Not "storage": takes that wait in the browser must stay (Clear Site Data, W3C).
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer
