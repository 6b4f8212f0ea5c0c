"""Words about the notes of a part, as pages, sheets and commands say them."""

from collections.abc import Iterable, Iterator

from analysis.score import ScorePart
from webapp.notebook.pieces.needs import NoteNeed, name_bars


def tell_bars(bars: Iterable[int], part: ScorePart) -> str:
    """Name bars by their printed numbers: `bar 12`, `bars 12, 31-33`."""
    every = tuple(bars)
    return f"{'bar' if len(every) == 1 else 'bars'} {name_bars(every, part)}"


def tell_length(need: NoteNeed) -> str:
    """Say how long a note is, shortest to longest: in seconds, or quarters without a tempo.

    `1 quarter`, `1/2 to 2 quarters`, `0.5 to 1.2 s`.
    """
    if need.shortest_quarters is None or need.longest_quarters is None:
        return "grace"
    if need.shortest_s is None or need.longest_s is None:
        ends = dict.fromkeys(map(str, (need.shortest_quarters, need.longest_quarters)))
        return f"{' to '.join(ends)} {'quarter' if list(ends) == ['1'] else 'quarters'}"
    seconds = dict.fromkeys(f"{each:.1f}" for each in (need.shortest_s, need.longest_s))
    return " to ".join(seconds) + " s"


def list_ways(need: NoteNeed) -> Iterator[str]:
    """Say how a note begins, with counts where there are several ways, and how loud it is."""
    kinds = ((need.slurred_count, "slurred"), (need.tongued_count, "tongued"))
    counted = [(count, word) for count, word in kinds if count]
    yield ", ".join(word if len(counted) == 1 else f"{count} {word}" for count, word in counted)
    if need.alternating_count:
        count = need.alternating_count
        yield "in a trill" if count == 1 else f"in {count} trills"
    if need.dynamics:
        yield " ".join(need.dynamics)
