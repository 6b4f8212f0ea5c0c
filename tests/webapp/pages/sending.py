"""Send as a page's recorder does, and read the answers in JSON."""

from collections.abc import Mapping
from io import BytesIO
from typing import Any

from werkzeug.test import TestResponse

from tests.webapp.browsing import ORIGIN, SAME_ORIGIN, Browser

# C#5 +25 on a B-flat soprano sounds B4 +25: 225 cents above A4 = 440 Hz.
TARGET_HZ = 440 * 2 ** (225 / 1200)


def token(client: Browser) -> str:
    """A token for one more write."""
    answer = client.fetch("/token.json", SAME_ORIGIN)
    assert answer.json is not None
    return str(answer.json["csrf_token"])


def send(
    client: Browser,
    path: str,
    clip: bytes | None,
    typed: Mapping[str, str] | None = None,
    *,
    headers: Mapping[str, str] = SAME_ORIGIN,
    **fields: str,
) -> TestResponse:
    """Send what a page's recorder sends."""
    values: dict[str, Any] = {"csrf_token": token(client), **(typed or {}), **fields}
    if clip is not None:
        values["clip"] = (BytesIO(clip), "take.wav")
    return client.client.post(
        path,
        base_url=ORIGIN,
        data=values,
        content_type="multipart/form-data",
        headers=dict(headers),
        buffered=True,
    )


def error_of(answer: TestResponse) -> dict[str, str]:
    """The one shape of every refusal."""
    assert answer.mimetype == "application/json"
    assert answer.json is not None
    assert set(answer.json) == {"error"}
    error: dict[str, str] = answer.json["error"]
    assert set(error) - {"field"} == {"kind", "message"}
    return error


def json_of(answer: TestResponse) -> dict[str, Any]:
    """What was answered, with a status beside it where it is not what was hoped for."""
    assert answer.status_code in (200, 201), answer.text
    assert answer.json is not None
    return dict(answer.json)
