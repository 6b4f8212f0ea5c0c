"""Links in refusals: to the take or the recording that is there already."""

from flask import url_for
from markupsafe import Markup

from webapp.notebook.store.errors import DuplicateClip, DuplicateRecording, NotebookError


def with_link(error: NotebookError) -> str:
    """Return what an error says, with a link to what is there already, if anything is."""
    if isinstance(error, DuplicateClip):
        return _link(error, url_for("takes.show", take_id=error.take_id), "The take that is there")
    if isinstance(error, DuplicateRecording):
        address = url_for("recordings.show", recording_id=error.recording_id)
        return _link(error, address, "The recording that is there")
    return str(error)


def _link(error: NotebookError, address: str, words: str) -> Markup:
    return Markup('{} <a href="{}">{}</a>').format(str(error), address, words)
