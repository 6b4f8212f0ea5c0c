"""Share the evidence of fingerings that are the same to the air, or keep it apart."""

from flask import flash, redirect, url_for
from werkzeug.wrappers import Response

from webapp.notebook.fingerings.sameness import share_evidence
from webapp.presenting.words import current_notebook


def share(fingering_id: int) -> Response:
    """Pool the takes of all fingerings with the same holes and target."""
    share_evidence(current_notebook(), fingering_id, is_shared=True)
    flash("The evidence is shared: the takes of all of them count for each.")
    return redirect(url_for("fingerings.show", fingering_id=fingering_id))


def keep_apart(fingering_id: int) -> Response:
    """Let every fingering stand on its own takes again."""
    share_evidence(current_notebook(), fingering_id, is_shared=False)
    flash("The evidence is kept apart: each stands on its own takes.")
    return redirect(url_for("fingerings.show", fingering_id=fingering_id))
