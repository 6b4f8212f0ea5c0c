"""Ranges looked at, and what is put into a notebook for them.

Sounding pitches by closed formula: 440 * 2 ** (cents / 1200) Hz. A B-flat soprano sounds a whole
tone lower than written (common practice, from memory).
"""

from typing import Any

from tests.webapp.logging_rows import TakeMaker
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Suggestion
from webapp.notebook.targets.range import (
    RangeStep,
    WholeRange,
    open_range,
)
from webapp.notebook.targets.search import SearchQuery

KEYS = "T R 123 | 12-"


HALF = "T R 1(2)3 | 12-"


D_FLAT = "D5-50c"  # a quarter tone, 7350 written cents


STEP_CENTS = {12: 100, 24: 50, 48: 25}


def look(notebook: Notebook, instrument: int, grid: int = 24, **query: Any) -> WholeRange:
    """Open the range; a fingering counts as far as half a step unless the test says otherwise."""
    facts: dict[str, Any] = {"within_cents": STEP_CENTS.get(grid, 50) / 2, **query}
    wanted = SearchQuery(instrument_id=instrument, **facts)
    return open_range(notebook, instrument, wanted, steps_per_octave=grid)


def step(whole: WholeRange, canonical: str) -> RangeStep:
    """Return one step."""
    (found,) = [each for each in whole.steps if each.written.canonical == canonical]
    return found


def written_hz(cents: float) -> float:
    """What written cents sound on a B-flat instrument at A = 440."""
    return float(440 * 2 ** ((cents - 200 - 6900) / 1200))


def prove(take_maker: TakeMaker, notebook: Notebook, fingering: int, written_cents: float) -> None:
    """Attach a take that sounds at these written cents."""
    take_maker(notebook, fingering, written_hz(written_cents), uncertainty_cents=0.5)


def predict(
    notebook: Notebook, instrument: int, target: str, offset_cents: float, **facts: Any
) -> None:
    """Put a try on the list, with what was predicted for it."""
    row: dict[str, Any] = {
        "instrument_id": instrument,
        "target_text": target,
        "keys_text": KEYS,
        "strategy": "raised",
        "predicted_offset_cents": offset_cents,
        "predicted_sigma_cents": 12.0,
        "method_version": "finder-test",
        **facts,
    }
    with notebook.database.writing() as session:
        session.add(Suggestion(**row))
