"""The whole notebook as one file: handed out at once, or with a page that says how far it is."""

from http import HTTPStatus

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response as AnyResponse

from webapp.notebook.safekeeping.backing_up import (
    begin_backup,
    fetch_backup,
    find_backup,
    give_up_backup,
)
from webapp.notebook.store.result_cache import PATIENCE_S, Failed, Working
from webapp.pages.archive_answers import send_archive
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook


def download() -> AnyResponse:
    """Make a backup and hand it out; one that takes long is made in the background."""
    outcome = begin_backup(current_notebook(), current_result_cache(), patience_s=PATIENCE_S)
    if isinstance(outcome, Failed) and outcome.error is not None:
        raise outcome.error
    return _fetch_or_look()


def fetch() -> AnyResponse:
    """Hand out what was made in the background."""
    return _fetch_or_look()


def progress() -> AnyResponse:
    """Say how far it is, and look again by itself."""
    outcome = find_backup(current_result_cache())
    working = outcome if isinstance(outcome, Working) else None
    failed = outcome if isinstance(outcome, Failed) else None
    page = render_template("backup.html", outcome=outcome, working=working, failed=failed)
    return look_again(page, working)


def give_up() -> AnyResponse:
    """Stop making it."""
    give_up_backup(current_result_cache())
    return redirect(url_for("backup.progress"), HTTPStatus.SEE_OTHER)


def _fetch_or_look() -> AnyResponse:
    made = fetch_backup(current_result_cache())
    if made is None:
        return redirect(url_for("backup.progress"), HTTPStatus.SEE_OTHER)
    return send_archive(made.file, made.file_name)
