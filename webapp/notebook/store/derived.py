"""Columns of a fingering that are derived from its keys, filled in one place."""

from collections.abc import Iterable

from analysis.errors import AnalysisError
from analysis.keywork import KeyStates, assess_ease, format_fingering, hole_signature
from webapp.notebook.store.rows import Fingering


def keep_keys(fingering: Fingering, keys: KeyStates) -> None:
    """Write key states into a row, with all that is derived from them."""
    fingering.keys_text = format_fingering(keys)
    fingering.has_half_hole = keys.has_half_hole
    fingering.hole_signature = hole_signature(keys)
    fingering.ease = assess_ease(keys).figure


def refresh_from_keys(fingerings: Iterable[Fingering]) -> None:
    """Write anew what is derived from keys, where a rule or how an instrument is held changed."""
    for fingering in fingerings:
        try:
            keys = fingering.key_states()
        except AnalysisError:
            continue  # keys that cannot be read stay; the pages say what is wrong with them
        keep_keys(fingering, keys)
