"""Modules that do one thing: a wav file, loudness, beats in words, a walk through a list.

Truth: libsndfile reads the file; the loudness of a sine by the recommendation; beats by formula.
"""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
import soundfile

from tests.javascript.node import Node


@pytest.mark.parametrize("rate", [8000, 44_100, 48_000, 192_000])
@pytest.mark.parametrize("count", [0, 1, 997])
def test_a_wav_file_holds_every_sample_as_it_was(node: Node, rate: int, count: int) -> None:
    encoded = node.job("small-modules.js", "writeWav", rate, count)

    content = base64.b64decode(encoded[0])
    with soundfile.SoundFile(io.BytesIO(content)) as file:
        assert (file.format, file.subtype, file.channels) == ("WAV", "FLOAT", 1)
        assert file.samplerate == rate
        assert np.array_equal(file.read(dtype="float32"), encoded[1])
    assert int.from_bytes(content[4:8], "little") == len(content) - 8  # RIFF: the size of the rest


def test_loudness_is_that_of_the_recommendation(node: Node) -> None:
    # ITU-R BS.1770-4, annex 1: a 997 Hz sine at 0 dB FS in one front channel reads -3.01 LKFS.
    sines = [{"gain": 1, "hz": 997}, {"gain": 0.5, "hz": 997}, {"gain": 1, "hz": 60}]

    full, half, low = node.job("small-modules.js", "measureSines", sines)
    turned = node.job("small-modules.js", "matchWithSilence", [-20, -26])

    assert full == pytest.approx(-3.01, abs=0.02)
    assert half == pytest.approx(full - 6.02, abs=0.01)
    assert low < full - 1, "low tones are heard less"
    assert turned == [-6, 0, 0]


def test_a_note_was_watched_when_any_moment_of_it_was(node: Node) -> None:
    notes = [(100, 200), (300, 400), (500, 600), (700, 800), (900, 1000)]
    turns = [(350, True), (360, False), (650, True), (690, False), (950, True)]
    assert node.job("small-modules.js", "findWatched", turns, notes) == [
        False, True, False, False, True,
    ]  # fmt: skip
    assert node.job("small-modules.js", "findWatched", [(0, True), (550, False)], notes) == [
        True, True, True, False, False,
    ]  # fmt: skip


def test_a_take_told_anew_keeps_its_place_among_the_marks(node: Node) -> None:
    steps = [
        ("show", 0), ("add", 0, 1, 5.0), ("add", 0, 2, -3.0), ("add", 0, 1, 4.0), ("show", 1),
        ("add", 0, 4, 9.0), ("show", 0), ("remove", 0, 4), ("add", 0, 5, 8.0), ("add", 0, 3, 7.0),
    ]  # fmt: skip
    assert node.job("small-modules.js", "markTakes", steps) == [
        [], [5], [5, -3], [4, -3], [], [], [4, -3, 9], [4, -3], [4, -3, 8], [4, -3, 7, 8],
    ]  # fmt: skip


def test_beats_are_said_in_words(node: Node) -> None:
    slow, below, still, rough = (
        node.call("sound/beats.js", "describeBeats", played_hz, tone_hz)
        for played_hz, tone_hz in ((442.5, 440), (437, 440), (440.05, 440), (470, 440))
    )

    assert slow == "2.5 beats a second; the take lies above the tone."
    assert below == "3.0 beats a second; the take lies below the tone."
    assert "as good as still" in still
    assert "rough" in rough


def test_a_walk_stays_within_its_list_and_remembers_the_fingering_of_each_target(
    node: Node,
) -> None:
    steps = [
        "previous-target", "next-candidate", "next-candidate", "next-target", "next-candidate",
        "next-target", "previous-target", "previous-candidate",
    ]  # fmt: skip
    assert node.job("small-modules.js", "walk", [2, 1], 0, steps) == [
        [False, 0, 0], [True, 0, 1], [False, 0, 1], [True, 1, 0], [False, 1, 0],
        [False, 1, 0], [True, 0, 1], [True, 0, 0],
    ]  # fmt: skip
    assert node.job("small-modules.js", "walk", [1, 1], 9, ["next-target"]) == [[False, 1, 0]]


def test_a_place_is_kept_on_the_page_and_a_trembling_finger_drags_nothing(node: Node) -> None:
    size = {"width": 210, "height": 297}
    assert node.call("own-pages/places.js", "clampTo", {"x": -3, "y": 300.5}, size) == {
        "x": 0, "y": 297,
    }  # fmt: skip
    place = {"x": 20.004, "y": 30}
    assert node.call("own-pages/places.js", "clampTo", place, size) == {"x": 20, "y": 30}
    assert node.call("own-pages/places.js", "aboveNote", place)["y"] < 30
    assert not node.call("own-pages/places.js", "isDragged", place, {"x": 21, "y": 31})
    assert node.call("own-pages/places.js", "isDragged", place, {"x": 22, "y": 31})


def test_takes_stand_as_the_newest_judgement_of_the_set_says(node: Node) -> None:
    results = [
        {"take": 4, "counts": True, "standing": "", "offset_cents": 40.0},
        {"take": 5, "counts": False, "standing": "", "offset_cents": None},
        {"take": 6, "counts": True, "standing": ["You played ", "E"], "offset_cents": 200.0},
    ]
    elsewhere = ["You played ", "D", ": not counted."]
    standings = [
        {"take": 4, "counts": False, "standing": elsewhere},
        {"take": 6, "counts": True, "standing": "You played E"},
        {"take": 99, "counts": True, "standing": ""},
    ]
    restood = node.call("take-results.js", "findRestood", results, standings)
    assert restood == [{**results[0], "counts": False, "standing": elsewhere}]


def test_a_take_that_sounded_far_away_is_told_by_its_note_unless_it_counts(node: Node) -> None:
    far = {"fingering": 1, "counts": False, "standing": "You played E5.", "offset_cents": 230.0}
    near, without = {"offset_cents": -60.0}, {"offset_cents": None}
    told = [
        node.call("take-results.js", "isElsewhere", {**far, **changed})
        for changed in ({}, {"fingering": None}, {"counts": True}, near, without)
    ]
    assert told == [True, True, False, False, False]


def test_a_pedal_goes_from_stop_to_stop_and_nowhere_beyond(node: Node) -> None:
    module, tops = "concert/stops.js", [-900, -3, 400, 1200]
    assert node.call(module, "findNextStop", tops, 1) == 2
    assert node.call(module, "findNextStop", tops, -1) == 0
    assert node.call(module, "findNextStop", [-900, 0], 1) is None
    assert node.call(module, "findNextStop", [0, 900], -1) is None
