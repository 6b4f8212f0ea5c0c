"""Fingerings of a passage as they were last shown, to tell what differs now.

Pure. What was shown is kept as JSON rows: bar (index), place in the bar, note, keys.
"""

import json
from collections.abc import Iterable, Mapping

from webapp.notebook.pieces.passage_steps import FingeredStep

PlaceMark = tuple[int, str, str]
"""Bar (index), place in the bar, note: `FingeredStep.key`."""


def write_shown(steps: Iterable[FingeredStep]) -> str:
    """Write the fingerings of a passage down."""
    rows = [[*step.key, step.keys_text] for step in steps]
    return json.dumps(rows, ensure_ascii=False, separators=(",", ":"))


def read_shown(text: str) -> dict[PlaceMark, str]:
    """Return the keys by their places."""
    return {(bar, place, note): keys for bar, place, note, keys in json.loads(text)}


def replace_shown(text: str, step: FingeredStep, keys_text: str) -> str:
    """Write down that one note is played otherwise, by the player's own hand."""
    rows = read_shown(text) | {step.key: keys_text}
    return json.dumps([[*mark, keys] for mark, keys in rows.items()], ensure_ascii=False)


def move_shown(text: str, index_now: Mapping[int, int]) -> str:
    """Move what was shown with its bars; what stood in bars taken out goes."""
    rows = [
        [index_now[bar], place, note, keys]
        for (bar, place, note), keys in read_shown(text).items()
        if bar in index_now
    ]
    return json.dumps(rows, ensure_ascii=False)


def find_differences(
    steps: Iterable[FingeredStep], shown: Mapping[PlaceMark, str]
) -> dict[PlaceMark, str]:
    """Return the keys shown before for each note that is fingered otherwise now, '' for open.

    Fixed ones are the player's own word and never among them; nor is a note that was not shown.
    """
    return {
        step.key: shown[step.key]
        for step in steps
        if step.fixed is None and step.key in shown and shown[step.key] != step.keys_text
    }
