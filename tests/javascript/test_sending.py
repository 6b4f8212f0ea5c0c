"""Answers to a take that was sent: it is gone, refused for good, or waits.

Truth: only the notebook itself, in its own form and below status 500, may refuse a take for good.
"""

from __future__ import annotations

import pytest

from tests.javascript.node import Node

# status, content type, body -> what becomes of the take, and words about it
ANSWERS = {
    "kept": (201, "application/json", '{"take": 1}', "gone", ""),
    "there already": (200, "application/json", '{"take": 1}', "gone", ""),
    "not found": (
        404,
        "application/json",
        '{"error": {"message": "in the bin"}}',
        "refused",
        "bin",
    ),
    "too large": (413, "application/json", '{"error": {"message": "too big"}}', "refused", "big"),
    "no recording": (415, "application/json", '{"error": {"message": "odd"}}', "refused", "odd"),
    "busy": (429, "application/json", '{"error": {"message": "slowly"}}', "waiting", "slowly"),
    "signed out": (401, "application/json", '{"error": {"message": "sign in"}}', "waiting", "sign"),
    "foreign": (403, "application/json", '{"error": {"message": "not here"}}', "waiting", "here"),
    "broken": (500, "application/json", '{"error": {"message": "unforeseen"}}', "waiting", "unf"),
    "another server": (404, "text/html", "<h1>Not found</h1>", "waiting", "not the notebook"),
    "a page instead": (200, "text/html", "<h1>Sign in</h1>", "waiting", "not the notebook"),
}


@pytest.mark.parametrize("answer", ANSWERS.values(), ids=ANSWERS)
def test_only_the_notebook_itself_can_refuse_a_take_for_good(
    node: Node, answer: tuple[int, str, str, str, str]
) -> None:
    status, content_type, body, state, words = answer
    found, message = node.job("sending.js", "sendOne", status, content_type, body)
    assert found == state
    assert words in message
