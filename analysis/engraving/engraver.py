"""Engraves a line of notes in a child process; the pictures are those of the engraver."""

from __future__ import annotations

import json

from analysis.engraving.line import NoteLine
from analysis.engraving.mei_line import write_mei
from analysis.sandbox.child_processes import child_code, isolated_command, start_child

TIMEOUT_S = 30.0
_CHILD_CODE = child_code("analysis.engraving.child")
_NEEDS = ("analysis", "verovio")


class EngraverFault(RuntimeError):
    """The engraver ended without a picture: a fault of this program, not of the piece."""


def engrave(line: NoteLine, *, width_mm: float) -> tuple[str, ...]:
    """Engrave a line of notes, broken into systems as they fit.

    Returns:
        One SVG text for each system, in the order of the bars; 100 units of its inner view box are
        a millimetre. A note is the group whose id is its key. The same line gives the same text.

    Raises:
        EngraverFault: the engraver failed.
    """
    job = json.dumps([write_mei(line), round(width_mm * 10)]).encode("ascii")
    with start_child(isolated_command(_CHILD_CODE, _NEEDS)) as child:
        child.hand_over(job)
        if child.wait(TIMEOUT_S) != 0:
            raise EngraverFault("These bars could not be engraved. Print the sheet bar by bar.")
        child.output.seek(0)
        return tuple(json.loads(child.output.read()))
