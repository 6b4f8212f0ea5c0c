"""The text face, the same on screen as on the printed chart, and the font of music signs."""

from io import BytesIO

from flask import Response, abort, send_file

from webapp.drawing.sign_font import build_sign_font

FACES = {"regular.ttf": "figo", "bold.ttf": "figbo", "italic.ttf": "figit"}
SIGNS = "signs.otf"
_A_DAY_S = 24 * 3600
_A_MONTH_S = 30 * 24 * 3600


def font(name: str) -> Response:
    """Hand out one of the three faces, or the signs."""
    if name == SIGNS:
        # It is built by the app and can change with it.
        return send_file(BytesIO(build_sign_font()), mimetype="font/otf", max_age=_A_DAY_S)
    import pymupdf_fonts

    if name not in FACES:
        abort(404)
    face = BytesIO(pymupdf_fonts.myfont(FACES[name]))
    return send_file(face, mimetype="font/ttf", max_age=_A_MONTH_S)
