"""The cache of slow results of the served notebook."""

from flask import current_app

from webapp.notebook.store.result_cache import ResultCache


def current_result_cache() -> ResultCache:
    """Return the cache of slow results of this application."""
    result_cache: ResultCache = current_app.extensions["result_cache"]
    return result_cache
