"""Words about pieces for the templates."""

from functools import lru_cache

from markupsafe import Markup

from analysis.errors import AnalysisError
from analysis.keywork import KeyStates, Layout, parse_fingering
from analysis.score import PartNote
from webapp.notebook.store.rows import Instrument
from webapp.presenting.pictures import fingering_picture
from webapp.presenting.words import pitch_words


def small_fingering(keys_text: str, instrument: Instrument) -> Markup:
    """Draw the keys of a fingering small; nothing where its text cannot be read."""
    try:
        return fingering_picture(read_keys(keys_text, instrument.layout), is_small=True)
    except AnalysisError:
        return Markup("")


def tell_bar(notes: tuple[PartNote, ...]) -> str:
    """Name the notes of a bar, with their lengths in quarter notes."""
    return ", ".join(
        " & ".join(pitch_words(each) for each in note.chord or (note.written,))
        + (" (grace)" if note.is_grace else f" ({note.duration})")
        for note in notes
    )


@lru_cache(maxsize=1024)
def read_keys(text: str, layout: Layout) -> KeyStates:
    """Read the keys of a fingering, once."""
    return parse_fingering(text, layout)
