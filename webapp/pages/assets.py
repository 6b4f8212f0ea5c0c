"""The text face, which comes in a package: the same on screen as on the printed chart."""

from io import BytesIO

from flask import Blueprint, Response, abort, send_file

blueprint = Blueprint("assets", __name__)

FACES = {"regular.ttf": "figo", "bold.ttf": "figbo", "italic.ttf": "figit"}
_A_MONTH_S = 30 * 24 * 3600


@blueprint.get("/fonts/<name>")
def font(name: str) -> Response:
    """Hand out one of the three faces."""
    import pymupdf_fonts

    if name not in FACES:
        abort(404)
    face = BytesIO(pymupdf_fonts.myfont(FACES[name]))
    return send_file(face, mimetype="font/ttf", max_age=_A_MONTH_S)
