"""Description of a fault of ours inside a child, short enough for its report."""

from __future__ import annotations

import traceback
from pathlib import Path

_OURS = Path(__file__).parent.parent


def describe_fault(error: Exception, *, most_characters: int) -> str:
    """Tell the kind of an error, its words, and the line of ours that met it; ASCII only."""
    ours = [
        frame
        for frame in traceback.extract_tb(error.__traceback__)
        if _OURS in Path(frame.filename).parents
    ]
    place = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else "elsewhere"
    words = f"{type(error).__name__} at {place}: {error}"
    return words.encode("ascii", "replace").decode("ascii")[:most_characters]
