"""Note names on the keys, in three languages."""

import pytest

from analysis.pitch import NoteNames
from webapp.drawing.fingering_labels import note_label


# Common practice of German and Romance note names, from memory.
@pytest.mark.parametrize(
    ("note", "english", "german", "romance"),
    [
        ("F#", "F♯", "Fis", "fa♯"),
        ("Eb", "E♭", "Es", "mi♭"),
        ("Ab", "A♭", "As", "la♭"),
        ("Db", "D♭", "Des", "ré♭"),
        ("Bb", "B♭", "B", "si♭"),
        ("B", "B", "H", "si"),
        ("C", "C", "C", "do"),
        ("C#", "C♯", "Cis", "do♯"),
    ],
)
def test_a_key_that_names_a_note_says_it_in_each_language(
    note: str, english: str, german: str, romance: str
) -> None:
    assert note_label(note, NoteNames.ENGLISH) == english
    assert note_label(note, NoteNames.GERMAN) == german
    assert note_label(note, NoteNames.ROMANCE) == romance
