"""Refusals in JSON, for the addresses that scripts ask; the one place that writes them.

An address is asked by scripts if it ends in .json, or named in `pages.addresses`.
Every refusal has one shape, whether a guard, a form, a verb or the server refused::

    {"error": {"kind": "too-large", "message": "a sentence for the player", "field": "clip"}}

`field` is there only where one form field is meant. The message is text: what it quotes stands
between isolates, as on a page.
"""

from flask import Response, current_app, jsonify, request

from webapp.presenting.text_direction import isolate_quotes_plain

ENDING = ".json"
TOKEN_KIND = "token"
FIELD_KIND = "field"
_KINDS = {
    400: "not-understood",
    401: "signed-out",
    403: "foreign",
    404: "not-found",
    405: "method",
    409: "conflict",
    410: "clip-missing",
    413: "too-large",
    415: "not-a-recording",
    422: "refused",
    503: "unavailable",
    507: "disk-full",
}
ASKED_BY_SCRIPTS = "ASKED_BY_SCRIPTS"
"""In the settings: names of addresses that answer scripts, though they do not end in .json."""


def is_for_script() -> bool:
    """Tell whether the address that was asked for answers in JSON."""
    return request.path.endswith(ENDING) or request.endpoint in current_app.config[ASKED_BY_SCRIPTS]


def refuse(status: int, message: str, *, kind: str | None = None, field: str = "") -> Response:
    """Return a refusal; one that names a field is of the kind `field` unless told otherwise."""
    error = {
        "kind": kind or (FIELD_KIND if field else _KINDS.get(status, "unforeseen")),
        "message": isolate_quotes_plain(message),
    }
    if field:
        error["field"] = field
    answer = jsonify(error=error)
    answer.status_code = status
    return answer
