"""Playback beside a fingering: tones by formula, takes by steadiness."""

import pytest

from analysis.pitch import (
    NoteNames,
    SoundingPitch,
    Transposition,
    Tuning,
    WrittenPitch,
    parse_pitch,
    resolve_written,
)
from tests.webapp.logging_rows import Filled, TakeMaker, add_clarinet, log
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.playback import (
    PlaybackTake,
    Tones,
    find_tones,
    list_best,
    list_playback,
    load_best_takes,
    tones_of,
)

ENGLISH = NoteNames.ENGLISH
B_FLAT = Transposition(-200)
STEADY = {"spread_cents": 0.5}
UNSTEADY = {"spread_cents": 4.0}


def tones(
    text: str, written: str, *, tuning_a_hz: float = 440.0, names: NoteNames = ENGLISH
) -> Tones:
    return find_tones(
        text,
        WrittenPitch.from_canonical(written),
        transposition=B_FLAT,
        tuning=Tuning(tuning_a_hz),
        names=names,
    )


def heard(notebook: Notebook, fingering_id: int) -> tuple[PlaybackTake, ...]:
    page = open_fingering(notebook, fingering_id)
    with notebook.database.reading() as session:
        return list_playback(session, page.fingering, page.takes)


def test_a_target_sounds_at_its_transposition_and_tuning_a() -> None:
    # Written B4 on a B-flat instrument sounds A4 (common practice): the tuning A itself.
    assert tones("B4", "B4").hz == pytest.approx(440.0)
    assert tones("B4", "B4", tuning_a_hz=442.0).hz == pytest.approx(442.0)


def test_a_just_interval_brings_its_root_in_the_ratio_of_the_interval() -> None:
    text = "a major third above F4"
    written = resolve_written(
        parse_pitch(text, names=ENGLISH), transposition=B_FLAT, tuning=Tuning(440.0)
    )
    found = tones(text, written.canonical)
    assert found.root is not None
    assert found.root.written == WrittenPitch.from_canonical("F4")
    assert (found.root.interval_name, found.root.ratio) == ("major third", "5:4")
    # 5:4 by definition of the just major third; a written pitch is kept to 0.001 cent.
    assert found.hz / found.root.hz == pytest.approx(5 / 4, rel=1e-6)


def test_a_text_that_means_another_note_by_now_brings_no_root() -> None:
    assert tones("a major third above F4", "B4").root is None
    assert tones("F4", "F4").root is None
    assert tones("566.2 Hz", "D#5").root is None
    assert tones("not a note", "F4").root is None


def test_the_tuning_of_the_day_may_replace_that_of_the_instrument(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    fingering = open_fingering(notebook, rows.base).fingering
    usual, today = tones_of(fingering, ENGLISH), tones_of(fingering, ENGLISH, Tuning(442.0))
    assert today.hz / usual.hz == pytest.approx(442 / 440)


def test_the_steadiest_take_comes_first_and_those_without_a_pitch_are_left_out(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, add_clarinet(notebook), "C5", "T R 123 | 123")
    unsteady = take_maker(notebook, fingering, 466.0, more=UNSTEADY)
    steady = take_maker(notebook, fingering, 466.2, more=STEADY)
    take_maker(notebook, fingering, None)
    newer = take_maker(notebook, fingering, 466.1, more=STEADY)
    binned = take_maker(notebook, fingering, 466.3, more=STEADY)
    put_in_bin(notebook, "take", binned)
    assert [each.take.id for each in heard(notebook, fingering)] == [newer, steady, unsteady]
    first = heard(notebook, fingering)[0]
    assert (first.f0_hz, first.from_s, first.to_s) == (466.1, 0.1, 0.9)


def test_neighbours_are_the_nearest_proven_notes_and_others_of_the_same_note(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    clarinet = add_clarinet(notebook)
    keys = "T R 123 | 123"
    targets = ("C5", "B4", "B4 -50", "C5 +50", "C#5", "F5")
    rows = {target: log(notebook, clarinet, target, keys) for target in targets}
    again = log(notebook, clarinet, "C5", "T R 123 | 12-")
    elsewhere = log(notebook, add_clarinet(notebook, "Another"), "C5 +25", keys)
    for row in (*rows.values(), again, elsewhere):
        if row != rows["C5 +50"]:  # not measured: nothing to hear
            target = open_fingering(notebook, row).fingering.target_cents
            take_maker(notebook, row, SoundingPitch(target + 3.0).hz(Tuning(440.0)))
    found = [(each.written.canonical, each.relation) for each in heard(notebook, rows["C5"])]
    assert found == [
        ("C5", "this one"),
        ("C5", "same note"),
        ("B4", "below"),
        ("C#5", "above"),
    ]
    assert [each.relation for each in heard(notebook, rows["F5"])] == ["this one"]


def test_the_best_of_each_is_offered_for_two_fingerings(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    clarinet = add_clarinet(notebook)
    one = log(notebook, clarinet, "C5", "T R 123 | 123")
    other = log(notebook, clarinet, "C5 +50", "T R 123 | 12-")
    silent = log(notebook, clarinet, "D5", "T R 123 | 1--")
    take_maker(notebook, one, 466.0, more=UNSTEADY)
    best = take_maker(notebook, one, 466.0, more=STEADY)
    only = take_maker(notebook, other, 480.0)
    fingerings = [open_fingering(notebook, each).fingering for each in (one, other, silent)]
    with notebook.database.reading() as session:
        assert [each.take.id for each in list_best(session, fingerings)] == [best, only]


def test_the_number_of_the_best_take_of_many_fingerings_is_one_query(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    clarinet = add_clarinet(notebook)
    one, other, silent = (log(notebook, clarinet, "C5", "T R 123 | 123") for _ in range(3))
    best = take_maker(notebook, one, 466.0, more=STEADY)
    take_maker(notebook, one, 466.0, more=UNSTEADY)
    only = take_maker(notebook, other, 466.0, more=UNSTEADY)
    put_in_bin(notebook, "take", take_maker(notebook, other, 466.0, more=STEADY))
    take_maker(notebook, silent, None)
    with notebook.database.reading() as session:
        assert load_best_takes(session, [one, other, silent]) == {one: best, other: only}
        assert load_best_takes(session, []) == {}
