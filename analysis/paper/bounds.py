"""Bounds of a file with pages of a part: what any real part keeps to, and a bomb does not."""

from __future__ import annotations

MOST_BYTES = 64_000_000
MOST_PAGES = 120
MOST_PIXELS = 60_000_000
LONGEST_SIDE_MM = 1500.0  # A0 is 1189 mm tall
SHORTEST_SIDE_MM = 20.0
# What a photo is printed on: it has no size of its own.
PHOTO_LONG_MM, PHOTO_SHORT_MM = 297.0, 210.0
MM_PER_POINT = 25.4 / 72


class PaperRejected(Exception):
    """The child refuses a file: the reason's name, and what goes into the sentence."""

    def __init__(self, reason: str, detail: str = "") -> None:
        super().__init__(reason, detail)
        self.reason = reason
        self.detail = detail
