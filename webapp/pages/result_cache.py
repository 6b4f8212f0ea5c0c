"""The result_cache of the served notebook: where slow results are made once and kept in memory."""

from flask import current_app

from webapp.notebook.store.result_cache import ResultCache


def current_result_cache() -> ResultCache:
    """Return the result_cache of this application."""
    result_cache: ResultCache = current_app.extensions["result_cache"]
    return result_cache
