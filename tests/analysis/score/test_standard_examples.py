"""Check values from outside the project, on files of our own with the same notes.

Sources: the examples of the MusicXML 4.0 documentation (W3C Music Notation Community Group), by
name; the unofficial MusicXML test suite (MIT licence), by number: 01d quarter tones, 72b parts for
transposing instruments, 33d octave shifts.
"""

from __future__ import annotations

import pytest

from analysis.notation.transcript import from_plain, to_plain
from analysis.score import read_part
from tests.analysis.notation.scores import (
    attributes,
    bar,
    bars_of,
    note,
    read,
    rest,
    score,
    sounding,
    transcribe,
    transpose,
    words,
    written,
)


def test_the_microtone_of_the_standard() -> None:
    # example "<alter> (Microtones)": B4, alter -0.5
    part = read(score(bar(note("B4 -0.5", "quarter-flat")), transposition="0 0", name="Violin"))
    assert (written(part), sounding(part)) == (["B4-50c"], [7050])


def test_the_concert_score_of_the_standard() -> None:
    # example "<concert-score> and <for-part>": a bass clarinet in a score in C
    inner = (
        "<clef><sign>F</sign><line>4</line></clef><for-part><part-clef><sign>G</sign><line>2</line>"
        f"</part-clef>{transpose('-1 -2 -1', tag='part-transpose')}</for-part>"
    )
    defaults = "<defaults><concert-score/></defaults>"
    content = score(
        bar(note("C3", duration=8)), transposition=None, name="Bass Clarinet", divisions="2",
        begin=inner, defaults=defaults,
    )  # fmt: skip
    part = read(content)
    assert (written(part), sounding(part)) == (["D4"], [4800])
    assert part.notes[0].written.cents == 6200
    assert part.questions == ()


def test_the_change_of_instrument_of_the_standard() -> None:
    # example "<instrument-change>": from a clarinet in B-flat to an alto saxophone in bar 5
    change = (
        '<sound><instrument-change id="P1-I1"><instrument-sound>wind.reed.saxophone.alto'
        "</instrument-sound></instrument-change></sound>"
    )
    bars = bars_of(
        [note("C5", duration=8)],
        [words("To Alto Sax"), rest(8)],
        [rest(8)],
        [rest(8)],
        [attributes(transpose("-5 -9")), change, note("C5", duration=8)],
    )
    part = read(score(*bars, divisions="2"))
    assert sounding(part) == [7000, 6300]
    assert [(each.bar, each.transposition_cents) for each in part.segments] == [
        (0, -200),
        (4, -900),
    ]
    assert part.segments[1].instrument == "saxophone alto"


def test_quarter_tones_up_and_down() -> None:
    # suite 01d: C, D, E, F with alter -1.5, -0.5, 0.5, 1.5, in two octaves
    alters = ("-1.5", "-0.5", "0.5", "1.5")
    signs = ("three-quarters-flat", "quarter-flat", "quarter-sharp", "three-quarters-sharp")
    items = [
        note(f"{step}{octave} {alter}", sign)
        for octave in (4, 5)
        for step, alter, sign in zip("CDEF", alters, signs, strict=True)
    ]
    part = read(score(bar(*items), transposition=None, name="Voice"))
    assert sounding(part) == [5850, 6150, 6450, 6650, 7050, 7350, 7650, 7850]


@pytest.mark.parametrize(
    ("stated", "name"),
    [
        ("-1 -2", "D5"), ("2 3", "A4"), ("-2 -3", "D#5"), ("-1 -2 -1", "D6"), ("-4 -7", "G5"),
        ("0 0 -1", "C6"), (None, "C5"),
    ],
)  # fmt: skip
def test_every_part_of_a_transposing_ensemble_sounds_the_same(
    stated: str | None, name: str
) -> None:
    # suite 72b: parts for transposing instruments that all sound C5
    sharp = " 1" if "#" in name else ""
    part = read(
        score(
            bar(note(name.replace("#", "") + sharp, duration=4)), transposition=stated, name="Part"
        )
    )
    assert sounding(part) == [7200]


def test_octave_lines_change_nothing() -> None:
    # suite 33d: the lines of 8va, 8vb, 15ma and 15mb are print; the pitches stay what they are
    def line(kind: str, size: int) -> str:
        shift = f'<octave-shift type="{kind}" size="{size}"/>'
        return f"<direction><direction-type>{shift}</direction-type></direction>"

    items = [
        note("A4"), line("down", 15), note("B6"), line("stop", 15), note("C5"), line("up", 8),
        note("A3"), line("stop", 8), note("A4"),
    ]  # fmt: skip
    part = read(score(bar(*items), transposition=None, name="Part"))
    assert sounding(part) == [6900, 9500, 7200, 5700, 6900]


@pytest.mark.parametrize(
    ("stated", "cents", "hertz"),
    [("-1 -2", 7150, 508.355), ("-2 -3", 7050, None), ("-1 -2 -1", 5950, None)],
)
def test_a_quarter_flat_d_sounds_as_worked_out_by_hand(
    stated: str, cents: int, hertz: float | None
) -> None:
    part = read(score(bar(note("D5 -0.5", "quarter-flat")), transposition=stated, name="Clarinet"))
    assert sounding(part) == [cents]
    if hertz is not None:  # equal temperament: 440 Hz times 2 to the power of 250/1200
        assert 440 * 2 ** ((cents - 6900) / 1200) == pytest.approx(hertz, abs=5e-4)


def test_a_transcript_stored_as_json_is_read_the_same() -> None:
    trill = "<ornaments><trill-mark/><accidental-mark>quarter-flat</accidental-mark></ornaments>"
    content = score(
        bar(note("D5 0.333333", "sharp-up", notations=trill + '<slur type="start"/>'), note("E5")),
        bar(words("slap"), note("D5"), note("F5", more="<chord/>"), number="X1"),
    )
    transcript = transcribe(content)
    assert from_plain(to_plain(transcript)) == transcript
    assert read_part(from_plain(to_plain(transcript))) == read_part(transcript)
