"""The worker of the served notebook for what no page waits for."""

from flask import current_app

from webapp.notebook.recordings.splitter import Background


def wake_background() -> None:
    """Say that there may be something to do."""
    background: Background = current_app.extensions["background"]
    background.wake()
