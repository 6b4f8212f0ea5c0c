"""Takes of a suggestion: one that counts for the note logs it, any other logs nothing."""

from io import BytesIO

import pytest
from sqlalchemy import select

from analysis.finder import Strategy
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import attach, log
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.finder import suggested_takes
from webapp.notebook.finder.suggested_takes import attach_suggested
from webapp.notebook.finder.tries import SuggestionNote
from webapp.notebook.practice.tuning_notes import choose_tuning_take
from webapp.notebook.store.errors import DuplicateClip, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import Fingering, Suggestion, Take
from webapp.notebook.takes.takes import TakeNote

# A B-flat clarinet sounds a whole tone lower (common practice): D5 -50 is C5 -50, a quarter tone
# under 523.25 Hz.
TARGET_HZ = 440 * 2 ** (250 / 1200)
NOTE = SuggestionNote("D5-50c", "T R 123 | 12- | right F#", "ordinary:C#5:1", Strategy.RAISED)


def clip(offset_cents: float, seed: int = 0) -> BytesIO:
    """A held tone so far from the note."""
    return BytesIO(tone_wav(TARGET_HZ * 2 ** (offset_cents / 1200), seed=seed))


def fingerings(notebook: Notebook) -> list[Fingering]:
    """All that is logged."""
    with notebook.database.reading() as session:
        return list(session.scalars(select(Fingering).order_by(Fingering.id)))


def take(notebook: Notebook, take_id: int) -> Take:
    """One take."""
    with notebook.database.reading() as session:
        return session.get_one(Take, take_id)


@pytest.fixture(name="cache")
def _cache(fake_finder: FakeFinder) -> ResultCache:
    del fake_finder
    return ResultCache()


def test_a_take_of_the_note_logs_the_keys_with_their_strategy(
    notebook: Notebook, clarinet: int, cache: ResultCache
) -> None:
    number = attach_suggested(notebook, cache, clarinet, NOTE, clip(12.0), TakeNote(dynamic="mf"))
    (row,) = fingerings(notebook)
    assert take(notebook, number).fingering_id == row.id
    assert (row.keys_text, row.target_text, row.strategy) == (NOTE.keys, "D5-50c", "raised")
    assert row.base_written_text == "C#5"
    assert row.take_count == 1
    assert row.offset_cents == pytest.approx(12.0, abs=0.5)
    with notebook.database.reading() as session:
        assert session.scalars(select(Suggestion.fingering_id)).all() == [row.id]


def test_further_takes_go_to_the_same_fingering(
    notebook: Notebook, clarinet: int, cache: ResultCache
) -> None:
    for number in range(3):
        attach_suggested(notebook, cache, clarinet, NOTE, clip(5.0 * number, number), TakeNote())
    (row,) = fingerings(notebook)
    assert row.take_count == 3


@pytest.mark.parametrize("offset_cents", [-607.0, 61.0, 1900.0])
def test_another_note_logs_nothing_and_is_kept(
    notebook: Notebook, clarinet: int, cache: ResultCache, offset_cents: float
) -> None:
    number = attach_suggested(notebook, cache, clarinet, NOTE, clip(offset_cents), TakeNote())
    assert fingerings(notebook) == []
    kept = take(notebook, number)
    assert (kept.fingering_id, kept.meant_text) == (None, "D5-50c")


def test_without_a_pitch_nothing_is_logged(
    notebook: Notebook, clarinet: int, cache: ResultCache
) -> None:
    number = attach_suggested(notebook, cache, clarinet, NOTE, BytesIO(noise_wav()), TakeNote())
    assert fingerings(notebook) == []
    assert take(notebook, number).fingering_id is None


def test_sent_again_after_a_break_it_is_logged_once(
    notebook: Notebook, clarinet: int, cache: ResultCache, monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_off(*_words: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(suggested_takes, "give_take", break_off)
    with pytest.raises(KeyboardInterrupt):
        attach_suggested(notebook, cache, clarinet, NOTE, clip(3.0), TakeNote())
    monkeypatch.undo()
    number = attach_suggested(notebook, ResultCache(), clarinet, NOTE, clip(3.0), TakeNote())
    (row,) = fingerings(notebook)
    assert take(notebook, number).fingering_id == row.id
    with pytest.raises(DuplicateClip):
        attach_suggested(notebook, cache, clarinet, NOTE, clip(3.0), TakeNote())


def test_without_a_model_it_is_logged_without_a_prediction(
    notebook: Notebook, clarinet: int, cache: ResultCache, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_words: object, **_more: object) -> int:
        raise Refused("not ready")

    monkeypatch.setattr(suggested_takes, "take_up", refuse)
    attach_suggested(notebook, cache, clarinet, NOTE, clip(3.0), TakeNote())
    (row,) = fingerings(notebook)
    assert (row.strategy, row.base_written_text, row.take_count) == ("raised", "C#5", 1)


def test_keys_that_the_instrument_has_no_more_leave_the_take_unsorted(
    notebook: Notebook, clarinet: int, cache: ResultCache
) -> None:
    strange = SuggestionNote("D5-50c", "T R 123 | 12- | no such key", "", Strategy.FOUND)
    number = attach_suggested(notebook, cache, clarinet, strange, clip(3.0), TakeNote())
    assert fingerings(notebook) == []
    assert take(notebook, number).fingering_id is None


def test_on_a_flat_day_what_counts_is_taken_from_its_tuning_note(
    notebook: Notebook, clarinet: int, practice: int, cache: ResultCache
) -> None:
    # Everything lies 40 cents flat, the tuning note too (B4 sounds A4): 75 flat is 35 flat.
    tuning = log(notebook, clarinet, "B4", "T R 123 | 123")
    heard = attach(notebook, tuning, tone_wav(440 * 2 ** (-40 / 1200)))
    choose_tuning_take(notebook, practice, heard)
    attach_suggested(notebook, cache, clarinet, NOTE, clip(-75.0), TakeNote())
    (logged,) = (row for row in fingerings(notebook) if row.id != tuning)
    assert logged.offset_cents == pytest.approx(-35.0, abs=1.0)
