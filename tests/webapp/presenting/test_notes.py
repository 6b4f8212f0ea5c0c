"""Notes on pages: the sign is shown, the words are read out."""

import json

import pytest

from analysis.pitch import NoteNames, Sentence, SignSystem, WrittenPitch
from tests.webapp.browsing import Browser
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.notebook import Notebook
from webapp.presenting.notes import (
    describe_heard_names,
    describe_sentence,
    show_note,
    show_sentence,
    tell_reading,
)


def show(notebook: Notebook, client: Browser, kept: str, writing: Writing) -> tuple[str, str]:
    """What is shown and what is read out, without tags."""
    change_preferences(notebook, writing)
    with client.client.application.test_request_context():
        html = show_note(WrittenPitch.from_canonical(kept))
    shown, words = html.split('<span class="visually-hidden">')
    return shown.striptags(), words.striptags()


@pytest.mark.parametrize(
    ("kept", "system", "names", "shown", "words"),
    [
        ("D5-50c", "stein-zimmermann", "english", "D\ue2805", "D quarter-flat 5"),
        ("D5", "stein-zimmermann", "english", "D5", "D5"),
        ("Bb4", "stein-zimmermann", "english", "B\ue2604", "B flat 4"),
        ("F#5-25c", "stein-zimmermann", "english", "F\ue2625−25", "F sharp 5, 25 cents lower"),
        ("F#5-25c", "arrows", "english", "F\ue2755", "F sharp 5, 25 cents lower"),
        ("F#5-30c~50", "stein-zimmermann", "english", "F\ue2825+20",
         "F quarter-sharp 5, 20 cents higher"),
        ("D5+100/3c", "stein-zimmermann", "english", "D\ue2825−16.7", "D5, 33 1/3 cents higher"),
        ("D5+100/3c", "arrows-sixth", "english", "D\ue2725", "D5, 33 1/3 cents higher"),
        ("D5+100/3c", "twelfth-tones", "english", "D\ue2a45", "D5, 33 1/3 cents higher"),
        ("Ab4+16c", "figures", "english", "A\ue2604+16", "A flat 4, 16 cents higher"),
        ("A4-6843/500c", "just", "english", "A45/4", "A4, 13.7 cents lower"),
        ("Bb4", "stein-zimmermann", "german", "B4", "B4"),
        ("B4-50c", "stein-zimmermann", "german", "H\ue2804", "H4, Viertelton tiefer"),
        ("F#5-25c", "stein-zimmermann", "german", "Fis5−25", "Fis5, 25 Cent tiefer"),
        ("D5-50c", "stein-zimmermann", "romance", "ré\ue2805", "ré5, quart de ton plus bas"),
        ("C#6", "stein-zimmermann", "romance", "do\ue2626", "do dièse 6"),
    ],
)  # fmt: skip
def test_a_note_is_its_sign_and_its_words(
    notebook: Notebook, client: Browser, kept: str, system: str, names: str, shown: str, words: str
) -> None:
    writing = Writing(NoteNames(names), SignSystem.from_text(system))
    assert show(notebook, client, kept, writing) == (shown, words)


def test_the_reading_of_what_was_typed_is_told_unless_it_stands_there(client: Browser) -> None:
    written = WrittenPitch.from_canonical("D5-50c")
    with client.client.application.test_request_context():
        assert str(tell_reading("d5-1/4", written)) == (
            "“d5-1/4” is read as D quarter-flat 5. 1/4 is read as a part of a whole tone: 50 cents."
        )
        assert str(tell_reading("Dqf5", written)) == "“Dqf5” is read as D quarter-flat 5."
        for plain in ("D quarter-flat 5", "d5-50c", "D5 −50 c", ""):
            assert not tell_reading(plain, written)
        raised = WrittenPitch.from_canonical("C#5+25c")
        for plain in ("C#5 +25", "c♯5+25c", "C sharp 5, 25 cents higher"):
            assert not tell_reading(plain, raised)


def test_a_sentence_shows_its_notes_by_their_signs_to_pages_and_scripts(client: Browser) -> None:
    quarter = WrittenPitch.from_canonical("D5-50c")
    said = Sentence("“<b>” sounds ", Sentence(quarter, " +7"), ".")
    with client.client.application.test_request_context():
        html, told = show_sentence(said), describe_sentence(said)
    assert '“<bdi>&lt;b&gt;</bdi>” sounds <span class="note-name">' in html
    assert '<span class="sign">\ue280</span>' in html
    note = {"words": "D quarter-flat 5", "shown": [("", "D"), ("sign", "\ue280"), ("", "5")]}
    assert told == ["“<b>” sounds ", note, " +7", "."]
    assert str(said) == "“<b>” sounds D quarter-flat 5 +7."
    assert not Sentence("", Sentence())


@pytest.mark.parametrize("system", ["stein-zimmermann", "arrows-sixth"])
def test_what_a_script_hears_is_named_in_the_signs_in_use(
    notebook: Notebook, client: Browser, system: str
) -> None:
    change_preferences(notebook, Writing(NoteNames.GERMAN, SignSystem.from_text(system)))
    with client.client.application.test_request_context():
        steps = json.loads(describe_heard_names())["steps"]
        lowest = WrittenPitch.from_canonical("C4")
        for step, told in enumerate(steps):
            written = WrittenPitch.from_cents(lowest.cents + 50 * step)
            before, after = told["shown"]
            html = show_note(written)
            shown = "".join(text for _, text in (*before, ("", "4"), *after))
            assert html.striptags() == f"{shown}{'4'.join(told['words'])}"
    assert len(steps) == 24
