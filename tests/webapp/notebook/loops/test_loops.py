"""Loops kept in a notebook: the figure of a pair, the bin, refusals, and lists from a piece."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO

import pytest

from analysis.keywork import parse_fingering
from analysis.pitch import WrittenPitch
from analysis.planning import Played, load_motion_table
from tests.webapp.logging_rows import log
from tests.webapp.looping import E5_KEYS, ENDS, F5_KEYS, record_loop, sound_of
from tests.webapp.notebook.pieces.filling import add_typed_piece
from tests.webapp.tones import tone_wav
from webapp.notebook.loops.figures import find_way_times, load_figures
from webapp.notebook.loops.loops import (
    LoopNote,
    find_loop_clip,
    keep_loop,
    open_loop,
    open_loops,
)
from webapp.notebook.pieces.practising import ListOrder, practise_piece
from webapp.notebook.practice.practice_targets import load_targets, settle_target
from webapp.notebook.safekeeping.bin import empty_bin, list_bin, put_in_bin, restore
from webapp.notebook.safekeeping.checking import read_hashes
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import (
    ClipRefused,
    DuplicateRecording,
    FieldRefused,
    NotInNotebook,
)
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument, LoopPair, TargetState

PAIR = LoopPair("E5", E5_KEYS, "F5", F5_KEYS)


def test_a_loop_is_kept_with_its_sound_and_figures(notebook: Notebook, clarinet: int) -> None:
    number = record_loop(notebook, clarinet)
    row, figure = open_loop(notebook, number)
    assert row.pair == PAIR
    assert figure.up is not None and figure.down is not None
    assert figure.up.seconds == pytest.approx(0.02, abs=0.012)
    assert figure.down.seconds == pytest.approx(0.06, abs=0.012)
    assert (figure.count, row.change_count) == (1, 8)
    assert find_loop_clip(notebook, number)[1].read_bytes() == sound_of(notebook, clarinet)
    with notebook.database.reading() as session:
        assert read_hashes(session)[row.clip_name] == row.sha256


def test_either_order_and_either_spelling_is_the_same_pair(
    notebook: Notebook, clarinet: int
) -> None:
    record_loop(notebook, clarinet)
    data = sound_of(notebook, clarinet, seed=2)
    keep_loop(notebook, clarinet, (ENDS[1], ENDS[0]), BytesIO(data), LoopNote())
    (page,) = open_loops(notebook, clarinet).pairs
    assert (page.pair, page.figure.count) == (PAIR, 2)


def test_the_median_of_the_newest_three_is_the_figure(notebook: Notebook, clarinet: int) -> None:
    started = now_utc() - timedelta(days=9)
    for day, down_s in enumerate((0.14, 0.14, 0.05, 0.11, 0.05)):
        note = LoopNote(started + timedelta(days=day))
        record_loop(notebook, clarinet, down_s=down_s, seed=day, note=note)
    (page,) = open_loops(notebook, clarinet).pairs
    assert page.figure.down is not None
    assert page.figure.down.seconds == pytest.approx(0.05, abs=0.012)
    assert (page.figure.count, page.figure.recorded_at) == (5, started + timedelta(days=4))


def test_the_same_recording_is_kept_once(notebook: Notebook, clarinet: int) -> None:
    number = record_loop(notebook, clarinet)
    again = keep_loop(notebook, clarinet, ENDS, BytesIO(sound_of(notebook, clarinet)), LoopNote())
    assert again == (number, False)


def test_what_is_no_loop_is_refused_and_leaves_nothing(notebook: Notebook, clarinet: int) -> None:
    held = tone_wav(587.33, 2.0)  # E5 on B-flat
    for ends, data, words in (
        (ENDS, held, "Only the lower note is heard"),
        (ENDS, b"no sound", "something else"),
    ):
        with pytest.raises(ClipRefused, match=words):
            keep_loop(notebook, clarinet, ends, BytesIO(data), LoopNote())
    for one, other in ((ENDS[0], ENDS[0]), (("X", E5_KEYS), ENDS[1]), (("E5", "T Q"), ENDS[1])):
        with pytest.raises(FieldRefused):
            keep_loop(notebook, clarinet, (one, other), BytesIO(held), LoopNote())
    with pytest.raises(NotInNotebook):
        keep_loop(notebook, 999, ENDS, BytesIO(held), LoopNote())
    assert not open_loops(notebook, clarinet).pairs
    assert not notebook.clips.names()


def test_the_bin_takes_a_loop_out_of_the_figure_and_gives_it_back(
    notebook: Notebook, clarinet: int
) -> None:
    number = record_loop(notebook, clarinet)
    put_in_bin(notebook, "loop", number)
    assert not open_loops(notebook, clarinet).pairs
    assert [each.id for each in list_bin(notebook).loops] == [number]
    with pytest.raises(NotInNotebook):
        open_loop(notebook, number)
    assert restore(notebook, "loop", number)
    assert open_loop(notebook, number)[1].count == 1
    put_in_bin(notebook, "loop", number)
    record_loop(notebook, clarinet)
    with pytest.raises(DuplicateRecording):
        restore(notebook, "loop", number)
    assert empty_bin(notebook) == 1
    assert len(notebook.clips.names()) == 1
    put_in_bin(notebook, "instrument", clarinet)
    assert empty_bin(notebook) == 1


def test_a_figure_outlives_the_entry_of_its_fingering(notebook: Notebook, clarinet: int) -> None:
    fingering = log(notebook, clarinet, "E5", E5_KEYS)
    number = record_loop(notebook, clarinet)
    put_in_bin(notebook, "fingering", fingering)
    empty_bin(notebook)
    assert open_loop(notebook, number)[1].count == 1


def test_times_of_both_ways_are_known_by_what_is_played(notebook: Notebook, clarinet: int) -> None:
    record_loop(notebook, clarinet)
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, clarinet)
        times_s = find_way_times(instrument, load_figures(session, clarinet))
        layout = instrument.layout
    low = Played(parse_fingering(E5_KEYS, layout), float(WrittenPitch.from_canonical("E5").cents))
    high = Played(parse_fingering(F5_KEYS, layout), float(WrittenPitch.from_canonical("F5").cents))
    assert set(times_s) == {(low, high), (high, low)}
    assert times_s[high, low] > times_s[low, high]
    assert load_motion_table("b-flat-soprano", layout).find(low, high).cost > 0


TEXT = '1: D5 -50 (1/4) "1/4=140", C5 (1/4) | 2: ' + ", ".join(["G4~C5~Eb5 (1/16)"] * 3)


def test_a_list_from_a_piece_goes_on_with_its_worst_changes(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    practice, count = practise_piece(notebook, piece, clarinet)
    with notebook.database.reading() as session:
        rows = load_targets(session, practice)
    assert len(rows) == count
    loops = [row for row in rows if row.loop is not None]
    assert loops and rows[-len(loops) :] == tuple(loops)
    assert rows[0].target_text == "D5-50c"
    assert all(row.note == "bar 2" for row in loops)
    settle_target(notebook, loops[0].id, TargetState.DONE)
    practise_piece(notebook, piece, clarinet, order=ListOrder.BARS)
    with notebook.database.reading() as session:
        again = load_targets(session, practice)
    assert again[-1].loop == loops[0].loop
    assert len(again) == count + 1
