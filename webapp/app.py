"""The web application, assembled from parts that know nothing of each other."""

import hashlib
import logging
import time
from datetime import UTC, datetime
from http import HTTPStatus
from pathlib import Path

from flask import Flask, render_template, request
from flask.sessions import SecureCookieSessionInterface, SessionMixin
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFError, CSRFProtect
from markupsafe import Markup
from sqlalchemy.exc import DBAPIError
from werkzeug.exceptions import HTTPException, SecurityError
from werkzeug.routing import Rule
from werkzeug.wrappers import Response

from analysis.errors import AnalysisError
from webapp.guards import admission, security, uploads
from webapp.notebook.recordings.splitter import Background
from webapp.notebook.store.disk_trouble import find_disk_trouble
from webapp.notebook.store.errors import FieldRefused, NotebookError
from webapp.notebook.store.notebook import Notebook, mark_of, read_cookie_key
from webapp.notebook.store.postgresql import is_out_of_reach
from webapp.notebook.store.result_cache import ResultCache
from webapp.pages.addresses import ASKED_BY_SCRIPTS, SHARED_VIEWS, VIEWS, Views, list_addresses
from webapp.pages.late_rules import LateRule
from webapp.presenting import (
    json_answers,
    late,
    masthead,
    note_entry,
    notes,
    page_marks,
    take_words,
)
from webapp.presenting import pictures as page_pictures
from webapp.presenting import words as presenting
from webapp.presenting.kept_templates import KeptTemplates
from webapp.presenting.notes import show_refusal
from webapp.presenting.words import current_notebook
from webapp.sharing.access import SharedAccess

_LOG = logging.getLogger("quartervent")
_COOKIE_DAYS = 365
_READING = ("GET", "HEAD")
_TEMPLATES = Path(__file__).parent / "templates"
_RESTART_S = 0.5  # what a database server needs to start again


class LastingCookie(SecureCookieSessionInterface):
    """A cookie that outlives the browser, so that a form of yesterday can still be sent."""

    def get_expiration_time(self, app: Flask, session: SessionMixin) -> datetime:
        """Return when the cookie ends."""
        del session
        return datetime.now(UTC) + app.permanent_session_lifetime


class NotebookFlask(Flask):
    """Flask with our request class and lasting cookies."""

    request_class = uploads.NotebookRequest
    session_interface = LastingCookie()
    url_rule_class: type[Rule] = LateRule

    def dispatch_request(self) -> ResponseReturnValue:
        """Answer; where only the database was away for a moment, ask it once more.

        What reads may be done twice. What writes may have been kept, so it is told of instead.
        """
        try:
            return super().dispatch_request()
        except DBAPIError as error:
            if request.method not in _READING or not is_out_of_reach(error):
                raise
            _LOG.warning("%s %s is asked once more: %s", request.method, request.path, error)
        time.sleep(_RESTART_S)
        return super().dispatch_request()


def create_app(notebook: Notebook, *, access: SharedAccess | None = None) -> Flask:
    """Assemble the application for this machine; `access` is that of other devices, if any."""
    app = NotebookFlask("webapp")
    app.extensions["notebook"] = notebook
    app.extensions["result_cache"] = ResultCache()
    app.extensions["background"] = Background(notebook)
    app.extensions["shared_access"] = access
    _set_up_cookie(app, notebook, read_cookie_key(notebook.folder))
    security.guard(app)
    return _complete(app, VIEWS)


def create_shared_app(local: Flask, access: SharedAccess) -> Flask:
    """Assemble the application for other devices: the same notebook and work, behind a sign-in."""
    app = NotebookFlask("webapp")
    app.extensions.update(local.extensions)
    notebook: Notebook = app.extensions["notebook"]
    # A cookie of one application means nothing to the other.
    key = hashlib.sha256(b"shared" + read_cookie_key(notebook.folder)).digest()
    _set_up_cookie(app, notebook, key)
    security.guard(app)
    admission.guard(app, access)
    return _complete(app, {**VIEWS, **SHARED_VIEWS})


def _complete(app: Flask, views: Views) -> Flask:
    # Ahead of all that asks for the templates' environment, as `debug` does: it is made once.
    app.jinja_options = {"bytecode_cache": KeptTemplates(_TEMPLATES), **app.jinja_options}
    app.debug = False  # whatever the environment says
    _count_pages(app)
    _set_up_limits(app)
    CSRFProtect(app)
    presenting.register(app)
    notes.register(app)
    note_entry.register(app)
    page_pictures.register(app)
    take_words.register(app)
    masthead.register(app)
    late.register(app)
    page_marks.register(app)
    _name_addresses(app, views)
    _set_up_errors(app)
    return app


def _set_up_cookie(app: Flask, notebook: Notebook, key: bytes) -> None:
    mark = mark_of(read_cookie_key(notebook.folder))
    app.config.update(
        SECRET_KEY=key,
        NOTEBOOK_MARK=mark,
        # Cookies ignore ports: two notebooks served side by side must not share one.
        SESSION_COOKIE_NAME=f"quartervent_{mark[:8]}",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        PERMANENT_SESSION_LIFETIME=_COOKIE_DAYS * 24 * 3600,
        WTF_CSRF_TIME_LIMIT=None,
    )


def _count_pages(app: Flask) -> None:
    """Tell the work in the background when a page is being made, so that it gives way."""
    cache: ResultCache = app.extensions["result_cache"]
    app.before_request(cache.traffic.arrive)
    app.teardown_request(lambda _: cache.traffic.leave())


def _set_up_limits(app: Flask) -> None:
    app.config.update(
        MAX_CONTENT_LENGTH=uploads.BODY_LIMIT_BYTES,
        MAX_FORM_MEMORY_SIZE=uploads.FORM_TEXT_LIMIT_BYTES,
        SEND_FILE_MAX_AGE_DEFAULT=None,  # ask with the ETag: a script may be new after an upgrade
    )


def _name_addresses(app: Flask, views: Views) -> None:
    app.config[json_answers.ASKED_BY_SCRIPTS] = ASKED_BY_SCRIPTS
    for each in list_addresses(views):
        view = late.late(f"webapp.pages.{each.module}", each.view)
        app.add_url_rule(each.rule, each.endpoint, view, methods=each.methods)


def _set_up_errors(app: Flask) -> None:
    app.register_error_handler(NotebookError, _show_notebook_error)
    app.register_error_handler(AnalysisError, _show_analysis_error)
    app.register_error_handler(SecurityError, _show_foreign_host)
    app.register_error_handler(CSRFError, _show_csrf_error)
    app.register_error_handler(HTTPException, _show_http_error)
    app.register_error_handler(Exception, _show_unforeseen)


def _show_foreign_host(error: SecurityError) -> Response:
    # No address can be built for a host that is not ours, so this page has no links.
    del error
    if json_answers.is_for_script():
        return json_answers.refuse(HTTPStatus.BAD_REQUEST, _MESSAGES[HTTPStatus.BAD_REQUEST])
    return Response(
        _MESSAGES[HTTPStatus.BAD_REQUEST], HTTPStatus.BAD_REQUEST, mimetype="text/plain"
    )


def _answer(status: int, message: str, *, field: str = "", said: Markup | None = None) -> Response:
    """Answer with a message, which a page shows as it is `said`: with notes by their signs."""
    if json_answers.is_for_script():
        return json_answers.refuse(status, message, field=field)
    heading = _HEADINGS.get(status, HTTPStatus(status).phrase)
    page = render_template("error.html", heading=heading, message=said or message, status=status)
    return Response(page, status, mimetype="text/html")


def _show_notebook_error(error: NotebookError) -> Response:
    if isinstance(error, FieldRefused):
        return _answer(error.status, str(error), field=error.field, said=show_refusal(error))
    return _answer(error.status, str(error))


def _show_analysis_error(error: AnalysisError) -> Response:
    return _answer(HTTPStatus.UNPROCESSABLE_ENTITY, str(error))


def _show_csrf_error(error: CSRFError) -> Response:
    del error
    status = HTTPStatus.BAD_REQUEST
    if json_answers.is_for_script():
        return json_answers.refuse(status, _STALE_TOKEN, kind=json_answers.TOKEN_KIND)
    return _answer(status, _MESSAGES[status])


def _show_http_error(error: HTTPException) -> Response:
    code = error.code or HTTPStatus.INTERNAL_SERVER_ERROR
    if code < HTTPStatus.BAD_REQUEST:
        return error.get_response()
    answer = _answer(code, _MESSAGES.get(code, _OTHERWISE))
    # What the protocol asks for beside the page: Allow with 405, Content-Range with 416.
    answer.headers.extend(
        [each for each in error.get_headers() if each[0] in ("Allow", "Content-Range")]
    )
    return answer


def _show_unforeseen(error: Exception) -> Response:
    trouble = find_disk_trouble(error, current_notebook().folder)
    if trouble is not None:
        _LOG.warning("%s %s: %s", request.method, request.path, error)
        return _answer(trouble.status, trouble.message)
    _LOG.error("%s %s failed", request.method, request.path, exc_info=error)
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    return _answer(status, _MESSAGES[status])


_OTHERWISE = "This cannot be done here. The start page leads on."
_STALE_TOKEN = (
    "The page that sent this was open for very long, so nothing was kept. If this happens again, "
    "reload the page."
)
_HEADINGS = {
    400: "Not understood",
    403: "Not from here",
    404: "Not in this notebook",
    405: "Not this way",
    409: "Changed meanwhile",
    410: "The clip is missing",
    413: "Too large",
    415: "Not a recording",
    416: "Outside the clip",
    422: "Not kept",
    500: "Something went wrong",
    503: "Not now",
    507: "The disk is full",
}
_MESSAGES: dict[int, str] = {
    400: "The page was not understood, perhaps because it was open for very long or the address is "
    "not the notebook's own. Go back, reload the page and send it again; a draft of your text is "
    "kept in the browser.",
    403: "This was sent by another page, not by the notebook, so nothing was changed.",
    404: "There is nothing at this address. The start page shows what the notebook holds.",
    405: "This address cannot be used that way. Go back and use the buttons of the page.",
    413: "What was sent is larger than the notebook takes. A few seconds of one held note are "
    "enough for a take. Go back: your text is still in the form.",
    416: "The player asked for a part of the clip that does not exist. Load the page again.",
    500: "The notebook ran into something unforeseen. Nothing half-done was kept; the details are "
    "in its log. Go back and try again.",
}
