"""Run-throughs of made performances: the daily sister of `benchmarks/bench_run_through.py`."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.performance import ExpectedNote, ExpectedPassage, read_performance
from tests.analysis.performance.performances import RATE, Playing, Sounding, make_passage, perform
from tests.analysis.performance.scoring import LONG_S, find_errors, score, share_matched

STILL = Playing(wrong=0, stops=0, uneven=0, context_cents=0, common_cents=0)


def test_notes_of_made_performances_are_found_again() -> None:
    notes = []
    for seed, (tempo, slurred) in enumerate([(60, 1.0), (120, 0.0), (160, 0.5)]):
        passage = make_passage(seed, tempo=tempo, count=20)
        playing = Playing(slurred=slurred, tempo_share=1.1)
        notes += score(passage, perform(passage, seed, playing=playing))
    assert share_matched(notes, LONG_S) >= 0.98
    assert share_matched(notes, 0.1, LONG_S) >= 0.9
    assert np.median(find_errors(notes, LONG_S)) < 1.0


def test_a_wrong_note_is_called_wrong_and_counts_for_nothing() -> None:
    passage = make_passage(5, count=16)
    wrong = [replace(each, height_cents=(each.height_cents or 0) + 200) for each in passage.notes]
    others = (*passage.notes[:6], wrong[6], *passage.notes[7:])
    played = perform(ExpectedPassage(others, passage.quarter_s), 5, playing=STILL)
    run = read_performance(played.samples, RATE, passage)
    assert [each.place for each in run.notes if not each.right_count] == [6]
    assert run.notes[6].height_cents is None
    assert len(run.notes[6].played) == 1


def test_context_and_unevenness_are_told_in_cents_and_seconds() -> None:
    notes = tuple(
        ExpectedNote(6900.0 + (0, 200, 100)[at % 3], at / 2, 0.5, begins_bar=at % 8 == 0)
        for at in range(24)
    )
    passage = ExpectedPassage(notes, 0.75)
    late = tuple(
        replace(each, onset=each.onset + 0.08 * (at > 11)) for at, each in enumerate(notes)
    )
    sharp = replace(late[5], height_cents=(late[5].height_cents or 0) + 22)
    played = ExpectedPassage((*late[:5], sharp, *late[6:]), 0.75)
    run = read_performance(perform(played, 2, playing=STILL).samples, RATE, passage)
    assert run.is_passage
    found = run.notes[5]
    assert found.height_cents == pytest.approx(7022, abs=1.5)
    assert run.notes[11].late_s == pytest.approx(0.06, abs=0.015)
    assert run.uneven_s is not None and run.uneven_s < 0.01
    assert run.tempo_share == pytest.approx(1.0, abs=0.02)


def test_the_tuning_a_moves_all_alike() -> None:
    passage = make_passage(8, count=12)
    moved = tuple(
        replace(each, height_cents=(each.height_cents or 0) + 7.85) for each in passage.notes
    )
    played = perform(ExpectedPassage(moved, passage.quarter_s), 8, playing=STILL).samples
    run = read_performance(played, RATE, passage, tuning_a_hz=442.0)
    away = [
        found.height_cents - note.height_cents
        for found, note in zip(run.notes, passage.notes, strict=True)
        if found.height_cents is not None and note.height_cents is not None
    ]
    assert abs(float(np.median(away))) < 0.5


def test_another_passage_is_not_taken_for_this_one() -> None:
    played = perform(make_passage(9, count=16), 9, sounding=Sounding()).samples
    assert not read_performance(played, RATE, make_passage(27, count=16)).is_passage


@pytest.mark.parametrize(
    "samples", [np.zeros(0), np.zeros(RATE), np.full(RATE, np.nan), np.zeros((2, 100))]
)
def test_no_sound_gives_an_empty_run_through(samples: NDArray[np.float64]) -> None:
    run = read_performance(samples, RATE, make_passage(1, count=4))
    assert not run.is_passage
    assert run.played == ()
    assert [each.height_cents for each in run.notes] == [None] * 4
