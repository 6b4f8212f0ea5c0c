"""Bounds of what a score file may hold, and the refusal of one that is not read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ScoreBounds:
    """The most that a score file may hold.

    `packed_bytes` of an archive, `unpacked_bytes` of XML as they are read, `archive_entries` files
    in an archive, `depth` levels of elements, `elements` in all and `item_elements` in one note or
    direction, `parts`, and `notes` (rests included) in a part.
    """

    packed_bytes: int = 16 * 1024 * 1024
    unpacked_bytes: int = 32 * 1024 * 1024
    archive_entries: int = 2_000
    depth: int = 40
    elements: int = 1_500_000
    item_elements: int = 20_000
    parts: int = 60
    notes: int = 20_000


class ScoreRejected(Exception):
    """The file is not read; the arguments are the reason's name and a word or figure to it."""

    def __init__(self, reason: str, detail: str = "") -> None:
        super().__init__(reason, detail)
        self.reason = reason
        self.detail = detail
