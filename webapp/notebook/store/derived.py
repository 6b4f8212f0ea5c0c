"""Columns of a fingering that are derived from its keys, filled in one place."""

from analysis.keywork import KeyStates, assess_ease, format_fingering, hole_signature
from webapp.notebook.store.rows import Fingering


def keep_keys(fingering: Fingering, keys: KeyStates) -> None:
    """Write key states into a row, with all that is derived from them."""
    fingering.keys_text = format_fingering(keys)
    fingering.has_half_hole = keys.has_half_hole
    fingering.hole_signature = hole_signature(keys)
    fingering.ease = assess_ease(keys).figure
