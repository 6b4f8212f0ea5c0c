"""Two-note loops against made ones of which every change is known, and against what is no loop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.performance import MeasuredLoop, NoLoop, describe_evenness, measure_loop
from analysis.recording import decode_clip
from tests import recordings
from tests.analysis.performance.loops import RATE, Between, Loop, Made, Samples, make_loop
from tests.analysis.recording.tones import make_noise
from tests.tools import report_missing

ABRUPT_WITHIN_S = 0.012
TIME_WITHIN_S = 0.012
SILENCE_WITHIN_S = 0.022  # a note dies away, and rises, within some milliseconds
D4_HZ = 293.66
LOOPS = [
    Loop(lower_hz=75.0, interval_cents=100.0, rate_hz=4.0),
    Loop(lower_hz=150.0, interval_cents=200.0, fall_db=11.0),
    Loop(lower_hz=300.0, interval_cents=50.0),
    Loop(lower_hz=620.0, interval_cents=300.0, even_db=-4.0),
    Loop(lower_hz=233.0, interval_cents=1200.0, fall_db=5.0),
    Loop(lower_hz=1300.0, interval_cents=100.0, rate_hz=9.0),
]


def measure(loop: Loop, made: Made) -> MeasuredLoop:
    return measure_loop(made.samples, RATE, lower_hz=loop.lower_hz, upper_hz=loop.upper_hz)


def find_times(measured: MeasuredLoop) -> tuple[float, float]:
    assert measured.up is not None and measured.down is not None
    return measured.up.seconds, measured.down.seconds


@pytest.mark.parametrize("seed,loop", list(enumerate(LOOPS)))
def test_every_change_is_found_with_rate_and_evenness(seed: int, loop: Loop) -> None:
    loop = replace(loop, scatter=0.15)
    made = make_loop(loop, seed)
    measured = measure(loop, made)
    assert len(measured.changes_s) == len(made.changes_s)
    assert np.abs(np.array(measured.changes_s) - made.changes_s).max() < 0.015
    assert measured.rate_hz == pytest.approx(made.rate_hz, rel=0.01)
    assert measured.unevenness == pytest.approx(made.unevenness, abs=4.0)
    assert measured.break_count == 0


@pytest.mark.parametrize("seed,loop", list(enumerate(LOOPS)))
def test_an_abrupt_change_takes_no_time(seed: int, loop: Loop) -> None:
    assert max(find_times(measure(loop, make_loop(loop, seed)))) < ABRUPT_WITHIN_S


@pytest.mark.parametrize("seed,loop", list(enumerate(LOOPS)))
def test_each_direction_has_its_own_time(seed: int, loop: Loop) -> None:
    loop = replace(loop, up_s=0.02, down_s=0.05)
    measured = measure(loop, make_loop(loop, seed))
    up_s, down_s = find_times(measured)
    assert up_s == pytest.approx(0.02, abs=TIME_WITHIN_S)
    assert down_s == pytest.approx(0.05, abs=TIME_WITHIN_S)
    assert measured.other_count > 0 and measured.silent_count == 0


def test_a_silence_within_a_change_counts_to_it() -> None:
    loop = Loop(up_s=0.05, down_s=0.11, between=Between.SILENCE)
    measured = measure(loop, make_loop(loop, 3))
    up_s, down_s = find_times(measured)
    assert up_s == pytest.approx(0.05, abs=SILENCE_WITHIN_S)
    assert down_s == pytest.approx(0.11, abs=SILENCE_WITHIN_S)
    assert measured.silent_count == loop.count


def test_a_slide_takes_the_middle_part_of_its_length() -> None:
    loop = Loop(up_s=0.08, down_s=0.16, between=Between.SLIDE, rate_hz=3.0)
    up_s, down_s = find_times(measure(loop, make_loop(loop, 4)))
    assert 0.4 * 0.08 < up_s < 0.08 and 0.4 * 0.16 < down_s < 0.16
    assert up_s < down_s


@pytest.mark.parametrize("noise_db", [30.0, 20.0, 12.0])
def test_noise_moves_little(noise_db: float) -> None:
    loop = Loop(up_s=0.02, down_s=0.06, noise_db=noise_db)
    up_s, down_s = find_times(measure(loop, make_loop(loop, 5)))
    assert up_s == pytest.approx(0.02, abs=TIME_WITHIN_S)
    assert down_s == pytest.approx(0.06, abs=TIME_WITHIN_S)


def test_vibrato_moves_little_and_a_wide_one_hides_the_times() -> None:
    loop = Loop(up_s=0.02, down_s=0.06, vibrato_cents=12.0)
    assert find_times(measure(loop, make_loop(loop, 6)))[1] == pytest.approx(0.06, abs=0.015)
    wide = replace(loop, vibrato_cents=30.0)
    measured = measure(wide, make_loop(wide, 6))
    assert measured.up is None and measured.down is None


@pytest.mark.parametrize("rate_hz", [1.0, 8.0, 12.0])
def test_slow_and_fast(rate_hz: float) -> None:
    loop = Loop(rate_hz=rate_hz, up_s=0.01, down_s=0.02, count=12)
    made = make_loop(loop, 7)
    measured = measure(loop, made)
    assert measured.rate_hz == pytest.approx(made.rate_hz, rel=0.01)
    assert measured.change_count == loop.count
    assert find_times(measured)[1] == pytest.approx(0.02, abs=TIME_WITHIN_S)


def test_too_quick_for_a_low_note_has_a_rate_and_no_times() -> None:
    loop = Loop(lower_hz=65.0, rate_hz=14.0)
    made = make_loop(loop, 8)
    measured = measure(loop, made)
    assert measured.rate_hz == pytest.approx(made.rate_hz, rel=0.02)
    assert measured.up is None and measured.down is None


def test_a_break_ends_a_series() -> None:
    loop = Loop(count=10, rate_hz=4.0)
    made = make_loop(loop, 9)
    twice = np.concatenate((made.samples, np.zeros(RATE), made.samples))
    measured = measure(loop, Made(twice, made.changes_s))
    assert measured.rate_hz == pytest.approx(made.rate_hz, rel=0.02)
    assert measured.change_count == 20


def test_where_the_notes_lie_is_told() -> None:
    loop = Loop(lower_hz=311.0, interval_cents=120.0)
    measured = measure_loop(
        make_loop(loop, 10).samples,
        RATE,
        lower_hz=311.0 * 2 ** (-30 / 1200),
        upper_hz=311.0 * 2 ** (80 / 1200),
    )
    assert measured.lower_cents == pytest.approx(30.0, abs=4.0)
    assert measured.upper_cents == pytest.approx(40.0, abs=4.0)


def test_what_is_no_loop_is_refused_by_name() -> None:
    rng = np.random.default_rng(11)
    held = make_loop(Loop(interval_cents=0.0, vibrato_cents=8.0), 11).samples
    wave = make_loop(Loop(interval_cents=0.0, vibrato_cents=30.0), 11).samples
    few = make_loop(Loop(count=4), 11).samples
    loop = make_loop(Loop(), 11).samples
    up, rest = make_loop(Loop(count=1, rate_hz=2.0), 11).samples, np.zeros(RATE)
    apart = np.concatenate([part for way in (up, up[::-1]) for part in 3 * [way, rest]])
    cases = [
        (held, 300.0, 100.0, "Only the lower note"),
        (held, 300.0 * 2 ** (-100 / 1200), 100.0, "Only the upper note"),
        (wave, 300.0 * 2 ** (-25 / 1200), 50.0, "swings as in vibrato"),
        (few, 300.0, 100.0, "changes 4 times"),
        (apart, 300.0, 100.0, "Every change stands alone"),
        (loop, 340.0, 100.0, "Other notes than these two"),
        (loop, 300.0, 300.0, "Only one note|Only the lower"),
        (0.05 * make_noise(3 * RATE, rng), 300.0, 100.0, "Other notes|Nothing is heard"),
        (np.zeros(3 * RATE), 300.0, 100.0, "Nothing is heard"),
        (np.zeros(10), 300.0, 100.0, "Nothing is heard"),
        (loop, 300.0, 20.0, "20 cents apart"),
    ]
    for samples, lower_hz, cents, words in cases:
        with pytest.raises(NoLoop, match=words):
            measure_loop(samples, RATE, lower_hz=lower_hz, upper_hz=lower_hz * 2 ** (cents / 1200))


@pytest.mark.parametrize(
    "unevenness,words", [(0.0, "even"), (12.0, "fairly even"), (25.0, "uneven")]
)
def test_evenness_in_words(unevenness: float, words: str) -> None:
    assert describe_evenness(unevenness) == words


@pytest.mark.real_recordings
def test_a_loop_joined_of_real_notes_changes_at_once() -> None:
    """Real colours, breath and room: pieces of two recorded notes, joined with no time between."""
    lower, upper = _read_note("D4"), _read_note("F4")
    size = int(0.2 * RATE)
    pieces = [
        part[RATE + number * size : RATE + (number + 1) * size]
        for number in range(12)
        for part in (lower, upper)
    ]
    measured = measure_loop(
        np.concatenate(pieces), RATE, lower_hz=D4_HZ, upper_hz=D4_HZ * 2 ** (300 / 1200)
    )
    assert measured.change_count == len(pieces) - 1
    assert measured.rate_hz == pytest.approx(5.0, rel=0.01)
    assert measured.unevenness < 4.0
    assert max(find_times(measured)) < ABRUPT_WITHIN_S


def _read_note(name: str) -> Samples:
    found = {path.stem: path for path in recordings.find()}
    if not found:
        report_missing("real recordings not fetched: run the test command")
    sound = decode_clip(found[name])
    assert sound.sample_rate_hz == RATE
    return np.asarray(sound.samples[: 6 * RATE])


@pytest.mark.long_run
@pytest.mark.parametrize("seed", range(40))
def test_drawn_loops_are_measured_as_made(seed: int) -> None:
    """Any register, interval, colour and pace within the limits."""
    rng = np.random.default_rng([seed, 43])
    lower_hz = float(rng.choice([140.0, 220.0, 350.0, 560.0, 900.0]))
    loop = Loop(
        lower_hz=lower_hz,
        interval_cents=float(rng.choice([50, 75, 100, 200, 400, 700])),
        rate_hz=float(rng.uniform(1.5, 10.0)),
        up_s=float(rng.uniform(0.0, 0.03)),
        down_s=float(rng.uniform(0.0, 0.05)),
        noise_db=float(rng.uniform(25, 50)),
        fall_db=float(rng.uniform(5, 12)),
        even_db=float(rng.uniform(-25, -3)),
    )
    made = make_loop(loop, seed)
    measured = measure(loop, made)
    assert measured.change_count == loop.count
    assert measured.rate_hz == pytest.approx(made.rate_hz, rel=0.02)
    up_s, down_s = find_times(measured)
    assert up_s == pytest.approx(loop.up_s, abs=TIME_WITHIN_S)
    assert down_s == pytest.approx(loop.down_s, abs=TIME_WITHIN_S)
