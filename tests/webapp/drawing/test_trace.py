"""The trace shows pitch against the target, its gaps, and what leaves the picture."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence

import pytest

from analysis.recording import PitchTrace
from webapp.drawing.trace import describe_trace, draw_trace

SVG = "{http://www.w3.org/2000/svg}"
TARGET_HZ = 440.0
# A quarter tone up is a frequency ratio of 2 to the 1/24: equal temperament, closed formula.
QUARTER_TONE = 2 ** (1 / 24)


def trace_of(cents: Sequence[float | None], step_s: float = 0.1) -> PitchTrace:
    """A trace with one value each `step_s`; None is a moment without pitch."""
    points = [
        (i * step_s, TARGET_HZ * 2 ** (c / 1200)) for i, c in enumerate(cents) if c is not None
    ]
    return PitchTrace(tuple(t for t, _ in points), tuple(f for _, f in points))


def lines_of_pitch(svg: str) -> list[str]:
    return [path.get("d", "") for path in ET.fromstring(svg).findall(f"{SVG}g[@class='pitch']/*")]


def wedges(svg: str) -> int:
    return len(ET.fromstring(svg).findall(f"{SVG}g[@class='beyond']/*"))


def scale_labels(svg: str) -> list[str]:
    return [text.text or "" for text in ET.fromstring(svg).iter(f"{SVG}text")]


def test_a_held_quarter_tone_lies_half_way_between_forty_and_sixty_cents() -> None:
    trace = PitchTrace((0.0, 0.5, 1.0), (TARGET_HZ * QUARTER_TONE,) * 3)
    svg = draw_trace(trace, target_hz=TARGET_HZ, steady=(0.0, 1.0))
    heights = {point.split(" ")[1] for point in re.split("[ML]", lines_of_pitch(svg)[0])[1:]}
    labels = {text.text: float(text.get("y", "")) for text in ET.fromstring(svg).iter(f"{SVG}text")}
    baseline_below_its_line = 4

    assert len(heights) == 1
    half_way = (labels["+40"] + labels["+60"]) / 2 - baseline_below_its_line
    assert float(heights.pop()) == pytest.approx(half_way)


def test_the_words_name_the_range_in_the_steady_part_and_outside_it() -> None:
    trace = trace_of([-80, -3, 5, 0, 2, 1])

    words = describe_trace(trace, target_hz=TARGET_HZ, steady=(0.1, 0.5))

    assert words == (
        "Pitch stays between −3 and +5 cents of the target over 0.4 s, the steady part from 0.1 to "
        "0.5 s. Outside it the pitch lies at −80 cents from the note."
    )


def test_where_there_is_no_pitch_the_line_has_a_gap() -> None:
    trace = trace_of([0, 1, 0, 1, None, None, None, None, 1, 0, 1])
    svg = draw_trace(trace, target_hz=TARGET_HZ, steady=None)

    assert len(lines_of_pitch(svg)) == 2
    assert "breaks off once, at 0.3 s" in svg


def test_the_target_and_the_whole_steady_part_are_always_in_the_picture() -> None:
    trace = trace_of([-300.0 + 2 * i for i in range(20)])
    svg = draw_trace(trace, target_hz=TARGET_HZ, steady=(0.0, 1.9))

    assert "0" in scale_labels(svg)
    assert "cents from the note" in scale_labels(svg)
    assert wedges(svg) == 0


def test_pitch_that_leaves_the_picture_is_marked_at_the_edge() -> None:
    trace = trace_of([-2000.0] + [0.0, 3.0] * 30)
    svg = draw_trace(trace, target_hz=TARGET_HZ, steady=(0.2, 6.0))

    assert wedges(svg) == 1
    assert "−2000" in describe_trace(trace, target_hz=TARGET_HZ, steady=(0.2, 6.0))


def test_a_very_steady_tone_is_not_blown_up() -> None:
    svg = draw_trace(trace_of([0.0, 0.1] * 20), target_hz=TARGET_HZ, steady=(0, 3.9))

    assert {"−10", "+10"} <= set(scale_labels(svg))


def test_a_take_without_pitch_says_so() -> None:
    svg = draw_trace(PitchTrace((), ()), target_hz=TARGET_HZ, steady=None)

    assert "No pitch was found in this take." in svg
    assert scale_labels(svg) == ["no pitch found"]


def test_a_single_moment_of_pitch_can_be_drawn() -> None:
    assert len(lines_of_pitch(draw_trace(trace_of([4]), target_hz=TARGET_HZ, steady=None))) == 1
