"""Mark of the notebook on every answer: a browser keeps the copies of each notebook apart by it."""

from flask import Flask, Response, current_app, request

from webapp.presenting.words import current_notebook

MARK_HEADER = "Quartervent-Notebook"
NOBODY = "none"
"""As mark of a page: this browser is signed out, and keeps no copies."""
_KEPT_KINDS = ("text/html", "image/", "audio/")


def register(app: Flask) -> None:
    """Mark the answers of an application."""
    app.after_request(mark)


def mark(response: Response) -> Response:
    """Say which notebook a page, drawing or clip belongs to: copies are kept apart by it."""
    is_kept = (response.mimetype or "").startswith(_KEPT_KINDS)
    if (
        is_kept
        and response.status_code < 300
        and request.endpoint not in (None, "web_app.offline", "static")
    ):
        named: str = current_app.config["NOTEBOOK_MARK"]
        if current_notebook().is_demo:
            named = f"demo-{named}"
        response.headers.setdefault(MARK_HEADER, named)
    return response
