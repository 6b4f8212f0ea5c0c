"""The player's word: what is kept, what gives way, what is refused.

The truth is the requirement: one choice for each note, instrument and circumstance; choices key on
exact written cents and survive a change of the measured figure.
"""

import pytest

from analysis.pitch import WrittenPitch
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.safekeeping.bin import put_in_bin, restore
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.answers import answer_note
from webapp.notebook.targets.choices import (
    REASON_CHARACTERS,
    WordDraft,
    describe_word,
    load_words_of,
    say_word,
    set_tolerance,
)
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.standing import Word

KEYS, OTHER = "T R 123 | 12-", "T R 123 | 1--"
D_FLAT = "D5-50c"


def ask(notebook: Notebook, instrument_id: int, canonical: str = D_FLAT) -> NoteAnswer:
    """Ask the judge for a note."""
    instrument = open_instrument(notebook, instrument_id)
    with notebook.database.reading() as session:
        return answer_note(session, instrument, WrittenPitch.from_canonical(canonical))


def words(notebook: Notebook, fingering_id: int) -> dict[str, Word]:
    """The words on one fingering, by note."""
    fingering = open_fingering(notebook, fingering_id).fingering
    with notebook.database.reading() as session:
        return {note.canonical: word for note, word in load_words_of(session, fingering)}


def first(answer: NoteAnswer) -> int | None:
    """The number of the best."""
    return answer.best.facts.fingering_id if answer.best else None


def test_the_newest_choice_of_a_note_is_the_one(notebook: Notebook, soprano: int) -> None:
    one, two = log(notebook, soprano, D_FLAT, KEYS), log(notebook, soprano, D_FLAT, OTHER)
    say_word(notebook, two, WordDraft(Role.MINE))
    assert first(ask(notebook, soprano)) == two
    say_word(notebook, one, WordDraft(Role.MINE))
    assert first(ask(notebook, soprano)) == one
    assert words(notebook, two) == {}
    say_word(notebook, one, WordDraft(None))
    assert (words(notebook, one), words(notebook, two)) == ({}, {})


def test_each_circumstance_has_a_choice_of_its_own_and_always_comes_first(
    notebook: Notebook, soprano: int
) -> None:
    one, two, three = (log(notebook, soprano, D_FLAT, KEYS) for _ in range(3))
    say_word(notebook, two, WordDraft(Role.MINE, circumstance=Circumstance.SOFT))
    say_word(notebook, two, WordDraft(Role.MINE, circumstance=Circumstance.TRILL))
    say_word(notebook, three, WordDraft(Role.MINE))
    answer = ask(notebook, soprano)
    assert [each.facts.fingering_id for each in answer.ranked] == [three, two, one]
    assert words(notebook, two)[D_FLAT].circumstances == (Circumstance.SOFT, Circumstance.TRILL)
    say_word(notebook, one, WordDraft(Role.MINE, circumstance=Circumstance.SOFT))
    assert words(notebook, two)[D_FLAT].circumstances == (Circumstance.TRILL,)


def test_a_new_word_on_the_same_fingering_takes_the_old_one_back(
    notebook: Notebook, soprano: int
) -> None:
    one = log(notebook, soprano, D_FLAT, KEYS)
    say_word(notebook, one, WordDraft(Role.MINE, circumstance=Circumstance.LOUD, reason="open"))
    say_word(notebook, one, WordDraft(Role.REJECTED, reason="  shrill "))
    assert words(notebook, one) == {D_FLAT: Word(Role.REJECTED, (), "shrill")}
    say_word(notebook, one, WordDraft(Role.ALTERNATE, circumstance=Circumstance.FAST))
    assert words(notebook, one) == {D_FLAT: Word(Role.ALTERNATE)}
    say_word(notebook, one, WordDraft(Role.MINE))
    assert words(notebook, one) == {D_FLAT: Word(Role.MINE, (Circumstance.ALWAYS,))}


def test_a_word_belongs_to_a_note_and_not_to_what_the_fingering_was_logged_for(
    notebook: Notebook, soprano: int
) -> None:
    one = log(notebook, soprano, D_FLAT, KEYS)
    written = say_word(notebook, one, WordDraft(Role.MINE, "Eb5"))
    assert written.canonical == "Eb5"
    say_word(notebook, one, WordDraft(Role.REJECTED))
    assert list(words(notebook, one)) == [D_FLAT, "Eb5"]
    assert first(ask(notebook, soprano, "Eb5")) == one
    assert first(ask(notebook, soprano, "D#5")) == one, "every spelling is one note"
    assert ask(notebook, soprano).best is None
    page = open_fingering(notebook, one)
    assert page.judged is not None
    assert page.judged.is_rejected
    assert [(note.canonical, word.role) for note, word in page.other_words] == [("Eb5", Role.MINE)]


def test_a_just_note_is_kept_to_the_exact_cent(notebook: Notebook, soprano: int) -> None:
    one = log(notebook, soprano, "5:4 above F4", KEYS)
    two = log(notebook, soprano, "A4 -14", OTHER)
    say_word(notebook, one, WordDraft(Role.MINE, "5:4 above F4"))
    say_word(notebook, two, WordDraft(Role.MINE, "A4 -14"))
    canonical = open_fingering(notebook, one).fingering.target_text
    assert first(ask(notebook, soprano, canonical)) == one
    assert first(ask(notebook, soprano, "A4-14c")) == two


def test_instruments_have_their_own_choices(notebook: Notebook, soprano: int) -> None:
    other = add_clarinet(notebook, "other")
    here, there = log(notebook, soprano, D_FLAT, KEYS), log(notebook, other, D_FLAT, KEYS)
    say_word(notebook, here, WordDraft(Role.MINE))
    say_word(notebook, there, WordDraft(Role.REJECTED))
    assert first(ask(notebook, soprano)) == here
    assert first(ask(notebook, other)) is None


def test_a_choice_survives_a_change_of_the_figure_and_the_bin(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    mine, other = log(notebook, soprano, D_FLAT, KEYS), log(notebook, soprano, D_FLAT, OTHER)
    say_word(notebook, mine, WordDraft(Role.MINE))
    take_maker(notebook, other, 440 * 2 ** (250 / 1200))
    take_maker(notebook, mine, 440 * 2 ** ((250 + 18) / 1200))
    answer = ask(notebook, soprano)
    assert first(answer) == mine
    (remark,) = answer.remarks
    assert str(remark) == "Your choice lies +18.0 cents off; another fingering is in tune."
    put_in_bin(notebook, "fingering", mine)
    assert (first(ask(notebook, soprano)), ask(notebook, soprano).remarks) == (other, ())
    restore(notebook, "fingering", mine)
    assert first(ask(notebook, soprano)) == mine


def test_saying_a_word_changes_no_fingering(notebook: Notebook, soprano: int) -> None:
    one = log(notebook, soprano, D_FLAT, KEYS)
    before = open_fingering(notebook, one).fingering
    say_word(notebook, one, WordDraft(Role.MINE))
    after = open_fingering(notebook, one).fingering
    assert (after.version, after.updated_at) == (before.version, before.updated_at)


@pytest.mark.parametrize(
    ("draft", "field", "words"),
    [
        (WordDraft(Role.MINE, "nonsense"), "target", "nonsense"),
        (WordDraft(Role.MINE, "D"), "target", "Which is meant"),
        (WordDraft(Role.REJECTED, reason="x" * (REASON_CHARACTERS + 1)), "reason", "501"),
    ],
)
def test_a_word_that_cannot_be_kept_is_refused_beside_its_field(
    notebook: Notebook, soprano: int, draft: WordDraft, field: str, words: str
) -> None:
    one = log(notebook, soprano, D_FLAT, KEYS)
    with pytest.raises(FieldRefused, match=words) as refused:
        say_word(notebook, one, draft)
    assert refused.value.field == field
    assert ask(notebook, soprano).ranked[0].word is None


def test_a_word_on_what_is_not_there_is_refused(notebook: Notebook, soprano: int) -> None:
    one = log(notebook, soprano, D_FLAT, KEYS)
    put_in_bin(notebook, "fingering", one)
    for number in (one, 99, 2**70):
        with pytest.raises(NotInNotebook):
            say_word(notebook, number, WordDraft(Role.MINE))
    with pytest.raises(NotInNotebook):
        set_tolerance(notebook, 99, D_FLAT, 5.0)


def test_a_note_has_a_tolerance_of_its_own_until_it_is_taken_back(
    notebook: Notebook, soprano: int
) -> None:
    other = add_clarinet(notebook, "other")

    def tolerances() -> tuple[float, float, float]:
        return (
            ask(notebook, soprano).note.tolerance_cents,
            ask(notebook, soprano, "D5").note.tolerance_cents,
            ask(notebook, other).note.tolerance_cents,
        )

    assert tolerances() == (10.0, 10.0, 10.0)
    assert set_tolerance(notebook, soprano, "C#5 +50", 5.0).cents == 7350
    assert tolerances() == (5.0, 10.0, 10.0)
    set_tolerance(notebook, soprano, D_FLAT, 20.0)
    assert tolerances() == (20.0, 10.0, 10.0)
    set_tolerance(notebook, soprano, D_FLAT, None)
    set_tolerance(notebook, soprano, D_FLAT, None)
    assert tolerances() == (10.0, 10.0, 10.0)


@pytest.mark.parametrize("cents", [0.0, 0.9, -5.0, 50.1, float("nan"), float("inf")])
def test_a_tolerance_out_of_its_range_is_refused(
    notebook: Notebook, soprano: int, cents: float
) -> None:
    with pytest.raises(FieldRefused, match="from 1 to 50") as refused:
        set_tolerance(notebook, soprano, D_FLAT, cents)
    assert refused.value.field == "tolerance_cents"


@pytest.mark.parametrize(
    ("word", "said"),
    [
        (Word(Role.MINE, (Circumstance.ALWAYS,)), "your choice"),
        (Word(Role.MINE, (Circumstance.SOFT,)), "your choice for soft notes"),
        (
            Word(Role.MINE, (Circumstance.FAST, Circumstance.TRILL)),
            "your choice for fast passages and for trills",
        ),
        (Word(Role.MINE, (Circumstance.SOFT, Circumstance.ALWAYS)), "your choice"),
        (Word(Role.ALTERNATE), "alternate"),
        (Word(Role.REJECTED, (), "too sharp"), "rejected: too sharp"),
    ],
)
def test_a_word_is_said_as_a_page_says_it(word: Word, said: str) -> None:
    assert describe_word(word) == said
