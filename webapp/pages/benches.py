"""The workshop of the served notebook: where slow results are made once and kept in memory."""

from flask import current_app

from webapp.notebook.store.slow_results import Workshop


def current_workshop() -> Workshop:
    """Return the workshop of this application."""
    workshop: Workshop = current_app.extensions["workshop"]
    return workshop
