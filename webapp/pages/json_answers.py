"""Answers for scripts: addresses that end in .json answer in JSON, refusals included.

Every refusal has one shape, whatever refused it::

    {"error": {"kind": "too-large", "message": "a sentence for the player", "field": "clip"}}

`field` is there only where one form field is meant. The message is text: what it quotes stands
between isolates, as on a page.
"""

from flask import Response, jsonify, request

from webapp.presenting.bidi import with_quotes_apart_plain

ENDING = ".json"
TOKEN_KIND = "token"
FIELD_KIND = "field"
_KINDS = {
    400: "not-understood",
    401: "locked",
    403: "foreign",
    404: "not-found",
    405: "method",
    409: "conflict",
    410: "clip-missing",
    413: "too-large",
    415: "not-a-recording",
    422: "refused",
}


def is_for_script() -> bool:
    """Tell whether the address that was asked for answers in JSON."""
    return request.path.endswith(ENDING)


def refuse(status: int, message: str, *, kind: str | None = None, field: str = "") -> Response:
    """Return a refusal."""
    error = {
        "kind": kind or _KINDS.get(status, "unforeseen"),
        "message": with_quotes_apart_plain(message),
    }
    if field:
        error["field"] = field
    answer = jsonify(error=error)
    answer.status_code = status
    return answer
