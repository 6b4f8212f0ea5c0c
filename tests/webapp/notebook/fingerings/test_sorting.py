"""Sorting takes by the player's word, and undoing it. Pitches by formula; all of it is invented."""

from io import BytesIO
from typing import Any

import pytest

from analysis.pitch import NoteNames, WrittenPitch
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.tones import tone_wav
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.fingerings.sorting import (
    Sorting,
    confirm_take,
    count_take,
    give_take,
    keep_unsorted,
    move_entry,
    move_to_own_entry,
    undo_sorting,
)
from webapp.notebook.store.errors import DuplicateClip, FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering
from webapp.notebook.takes.takes import TakeNote, open_take
from webapp.notebook.takes.unsorted import list_unsorted

ENGLISH = NoteNames.ENGLISH


def hz(offset_cents: float) -> float:
    """The frequency this far above D5 -50 on a B-flat soprano, which sounds 250 above A4 = 440."""
    return float(440 * 2 ** ((250 + offset_cents) / 1200))


def row_of(notebook: Notebook, fingering_id: int) -> Fingering:
    return open_fingering(notebook, fingering_id).fingering


def facts_of(notebook: Notebook, fingering_id: int) -> tuple[Any, ...]:
    """What a fingering says of itself, to see whether it is as before."""
    row = row_of(notebook, fingering_id)
    return (row.target_text, row.take_count, row.set_aside_count, row.offset_cents)


@pytest.fixture
def spoilt(notebook: Notebook, fingering: int, take_maker: TakeMaker) -> int:
    """A proven fingering with one take a twelfth lower; the number of that take."""
    for offset_cents in (-4.0, -5.0, -3.0):
        take_maker(notebook, fingering, hz(offset_cents))
    return take_maker(notebook, fingering, hz(-1900.0))


def test_a_wrong_note_is_kept_and_changes_nothing(
    notebook: Notebook, fingering: int, spoilt: int
) -> None:
    assert facts_of(notebook, fingering) == ("D5-50c", 3, 1, pytest.approx(-4.0))
    take = open_take(notebook, spoilt).take
    assert (take.standing, take.counts) == ("other group", False)


@pytest.mark.parametrize("verb", [count_take, move_to_own_entry])
def test_it_gets_an_entry_of_its_own_with_the_same_keys_where_others_count(
    notebook: Notebook, fingering: int, spoilt: int, verb: object
) -> None:
    before = facts_of(notebook, fingering)
    assert callable(verb)
    done = verb(notebook, spoilt)
    made = row_of(notebook, done.to_id)
    # 1,900 below D5 -50, closed formula: 7350 - 1900 = 5450, a quarter tone below G3.
    assert (made.target_text, made.keys_text) == ("G3-50c", row_of(notebook, fingering).keys_text)
    assert made.take_count == 1
    assert made.offset_cents == pytest.approx(0.0)
    assert facts_of(notebook, fingering) == ("D5-50c", 3, 0, before[3])
    undo_sorting(notebook, done)
    assert facts_of(notebook, fingering) == before
    with pytest.raises(NotInNotebook):
        open_fingering(notebook, done.to_id)


def test_a_second_take_there_goes_to_the_same_entry(
    notebook: Notebook, fingering: int, spoilt: int, take_maker: TakeMaker
) -> None:
    first = move_to_own_entry(notebook, spoilt)
    again = take_maker(notebook, fingering, hz(-1902.0))
    second = move_to_own_entry(notebook, again)
    assert (second.to_id, second.made_id) == (first.to_id, None)
    assert first.to_id is not None and row_of(notebook, first.to_id).take_count == 2


def test_the_whole_entry_moves_where_nothing_else_counts(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    waiting = take_maker(notebook, fingering, hz(-1900.0))
    assert open_take(notebook, waiting).take.standing == "waits"
    assert facts_of(notebook, fingering) == ("D5-50c", 0, 1, None)
    done = count_take(notebook, waiting)
    assert facts_of(notebook, fingering) == ("G3-50c", 1, 0, pytest.approx(0.0))
    undo_sorting(notebook, done)
    assert facts_of(notebook, fingering) == ("D5-50c", 0, 1, None)


def test_three_that_agree_elsewhere_are_logged_there_or_left(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    takes = [take_maker(notebook, fingering, hz(cents)) for cents in (148.0, 151.0, 152.0)]
    left = confirm_take(notebook, takes[0])
    assert facts_of(notebook, fingering) == ("D5-50c", 3, 0, pytest.approx(150.5, abs=1.0))
    undo_sorting(notebook, left)
    done = move_entry(notebook, takes[0])
    assert facts_of(notebook, fingering) == ("Eb5", 3, 0, pytest.approx(0.5, abs=1.0))
    undo_sorting(notebook, done)
    assert facts_of(notebook, fingering)[0] == "D5-50c"


def test_a_take_far_from_the_others_of_its_day_counts_by_the_players_word(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    for cents in (0.0, 1.0, 2.0):
        take_maker(notebook, fingering, hz(cents))
    far = take_maker(notebook, fingering, hz(45.0))
    assert open_take(notebook, far).take.standing == "scattered"
    done = count_take(notebook, far)
    assert facts_of(notebook, fingering)[1:3] == (4, 0)
    undo_sorting(notebook, done)
    assert facts_of(notebook, fingering)[1:3] == (3, 1)


def test_it_was_another_fingering(
    notebook: Notebook, clarinet: int, fingering: int, spoilt: int
) -> None:
    other = log(notebook, clarinet, "G3 -50", "T 123 | 123 | left E")
    done = give_take(notebook, spoilt, other)
    assert facts_of(notebook, other) == ("G3-50c", 1, 0, pytest.approx(0.0))
    assert facts_of(notebook, fingering)[1:3] == (3, 0)
    undo_sorting(notebook, done)
    assert facts_of(notebook, other)[1:] == (0, 0, None)
    elsewhere = log(notebook, add_clarinet(notebook, "Another"), "G3 -50", "T 123 | 123")
    with pytest.raises(FieldRefused, match="of the instrument that was played"):
        give_take(notebook, spoilt, elsewhere)


def test_only_what_was_done_last_can_be_undone(
    notebook: Notebook, clarinet: int, fingering: int, spoilt: int
) -> None:
    done = move_to_own_entry(notebook, spoilt)
    give_take(notebook, spoilt, log(notebook, clarinet, "G3 -50", "T 123 | 123"))
    strange = log(notebook, add_clarinet(notebook, "Another"), "D5 -50", "T R 123 | 12-")
    take = open_take(notebook, spoilt).take
    for each in (done, Sorting(spoilt, strange, take.fingering_id)):
        with pytest.raises(Refused, match="no longer be undone"):
            undo_sorting(notebook, each)
    assert open_take(notebook, spoilt).take.fingering_id == take.fingering_id


def test_what_has_no_pitch_or_no_fingering_cannot_count(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    silent = take_maker(notebook, fingering, None)
    with pytest.raises(Refused, match="No pitch"):
        count_take(notebook, silent)
    unsorted = keep_unsorted(notebook, clarinet, BytesIO(tone_wav(440.0)), TakeNote())
    with pytest.raises(Refused, match="no fingering yet"):
        count_take(notebook, unsorted)


def test_a_note_without_a_fingering_is_kept_and_sorted_later(
    notebook: Notebook, clarinet: int, fingering: int
) -> None:
    sound = tone_wav(hz(6.0))
    take = keep_unsorted(
        notebook, clarinet, BytesIO(sound), TakeNote(dynamic="p"), meant="D5 -50", names=ENGLISH
    )
    with pytest.raises(DuplicateClip):
        keep_unsorted(notebook, clarinet, BytesIO(sound), TakeNote())
    (found,) = list_unsorted(notebook, clarinet).takes
    assert (found.take.id, found.take.meant_text) == (take, "D5-50c")
    assert found.written == WrittenPitch.from_canonical("D5-50c")
    assert found.off_cents == pytest.approx(6.0, abs=0.1)
    assert [row.id for row in found.offered] == [fingering]
    assert facts_of(notebook, fingering)[1] == 0, "no entry is made and none is touched"
    done = give_take(notebook, take, fingering)
    assert facts_of(notebook, fingering)[1:] == (1, 0, pytest.approx(6.0, abs=0.1))
    assert list_unsorted(notebook, clarinet).takes == ()
    undo_sorting(notebook, done)
    assert [each.take.id for each in list_unsorted(notebook, clarinet).takes] == [take]


def test_no_sorting_gives_a_fingering_the_same_recording_twice(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    other = log(notebook, clarinet, "D5", "T R 123 | 1-3")
    take_maker(notebook, fingering, hz(5.0), sound=b"the same bytes")
    again = take_maker(notebook, other, hz(5.0), sound=b"the same bytes")
    before = facts_of(notebook, fingering), facts_of(notebook, other)
    with pytest.raises(DuplicateClip):
        give_take(notebook, again, fingering)
    assert (facts_of(notebook, fingering), facts_of(notebook, other)) == before


def test_what_was_recorded_anew_since_keeps_an_undo_away(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    other = log(notebook, clarinet, "D5", "T R 123 | 1-3")
    take = take_maker(notebook, fingering, hz(5.0), sound=b"the same bytes")
    done = give_take(notebook, take, other)
    anew = take_maker(notebook, fingering, hz(5.0), sound=b"the same bytes")
    with pytest.raises(DuplicateClip):
        undo_sorting(notebook, done)
    assert open_take(notebook, take).take.fingering_id == other
    assert open_take(notebook, anew).take.fingering_id == fingering
