"""MEI files: the written sign first, the gestural accidental where there is none.

Meaning of attributes: MEI 5 guidelines (`accid`, `accid.ges`, `trans.semi`, `tie`, `grace`).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.pitch import WrittenPitch
from analysis.score import NoteFlag, ReadingSettings, SignFlag, TrillKind
from tests.analysis.notation.mei_files import measure, mei, note
from tests.analysis.notation.scores import read, sounding, topics, transcribe, written


def test_a_written_sign_goes_before_the_gestural_one() -> None:
    layer = note("d5", more='accid="1qf" accid.ges="n"') + note("e5", inner='<accid accid="3qs"/>')
    part = read(mei(measure(layer)))
    assert written(part) == ["D5-50c", "E#5+50c"]
    assert sounding(part) == [7350 - 200, 7600 + 150 - 200]
    assert [each.flags for each in part.notes] == [(), ()]
    assert topics(part) == ["tempo"]


def test_a_gestural_accidental_counts_where_there_is_no_sign() -> None:
    layer = note("f5", more='accid.ges="s"') + note("g5", inner='<accid accid.ges="f"/>')
    part = read(mei(measure(layer), definition='key.sig="1s"'))
    assert written(part) == ["F#5", "Gb5"]


def test_without_any_accidental_the_bar_and_then_the_key_decide() -> None:
    first = note("b4") + note("b4", more='accid="n"') + note("b4") + note("b5")
    part = read(mei(measure(first), measure(note("b4"), number="2"), definition='keysig="2f"'))
    assert written(part) == ["Bb4", "B4", "B4", "Bb5", "Bb4"]
    assert all(each.flags == () for each in part.notes)


def test_how_long_a_microtone_lasts_is_asked_here_as_well() -> None:
    layer = note("d5", more='accid="1qf"') + note("d5")
    part = read(mei(measure(layer)))
    assert written(part) == ["D5-50c", "D5-50c"]
    assert part.notes[1].flags == (SignFlag.BAR_ASSUMED,)
    assert "sign lasts" in topics(part)


def test_arrows_are_asked_and_unknown_signs_named() -> None:
    layer = note("d5", more='accid="nu"') + note("e5", more='accid="moon"')
    part = read(mei(measure(layer)), ReadingSettings(arrow_cents=Fraction(25)))
    assert written(part) == ["D5+25c", "E5"]
    (question,) = [each for each in part.questions if each.topic == "unknown signs"]
    assert "moon" in question.words


@pytest.mark.parametrize(
    ("staff", "cents"),
    [
        ('label="Clarinet" trans.semi="-3" trans.diat="-2"', -300),
        ('label="Bass Clarinet" trans.semi="-14"', -1400),
    ],
)
def test_transposition_is_added_to_what_is_written(staff: str, cents: int) -> None:
    part = read(mei(measure(note("c5")), staff=staff))
    assert sounding(part) == [7200 + cents]


def test_a_later_definition_begins_a_segment() -> None:
    change = '<staffDef n="1" trans.semi="-3" trans.diat="-2"/>'
    part = read(mei(measure(note("c5")), change, measure(note("c5"), number="2")))
    assert [each.transposition_cents for each in part.segments] == [-200, -300]
    assert sounding(part) == [7000, 6900]


def test_dots_tuplets_and_rests_run_in_time() -> None:
    layer = (
        note("c5", "4", 'dots="1"') + '<rest dur="8"/>'
        '<tuplet num="3" numbase="2"><beam>' + note("d5", "8") + note("e5", "8") + note("f5", "8")
        + "</beam></tuplet>" + note("g5", "breve")
    )  # fmt: skip
    part = read(
        mei(measure(layer), measure("<mRest/>", number="2"), measure(note("a5"), number="3"))
    )
    assert [each.onset for each in part.notes] == [
        0, 2, Fraction(7, 3), Fraction(8, 3), 3, 0,
    ]  # fmt: skip
    assert [each.duration for each in part.notes[:2]] == [Fraction(3, 2), Fraction(1, 3)]
    assert [each.length for each in part.bars] == [11, 4, 1]


def test_ties_grace_notes_chords_and_cues() -> None:
    layer = (
        note("c5", "8", 'grace="acc"') + note("d5", "4", 'tie="i"') + note("a5", "4", 'cue="true"')
        + '<chord dur="2"><note pname="d" oct="4"/><note pname="a" oct="4"/></chord>'
    )  # fmt: skip
    second = note("d5", "2", 'tie="t"')
    part = read(mei(measure(layer), measure(second, number="2")))
    assert [each.is_grace for each in part.notes] == [True, False, False, False]
    assert [len(each.chord) for each in part.notes] == [0, 0, 2, 0]
    assert [(each.kind, each.count) for each in part.left_out] == [("cue notes", 1)]


def test_a_tie_over_the_barline_is_one_note() -> None:
    part = read(
        mei(measure(note("d5", "1", 'tie="i"')), measure(note("d5", "2", 'tie="t"'), number="2"))
    )
    (found,) = part.notes
    assert found.duration == 6 and found.is_tied


def test_what_stands_beside_the_staff_finds_its_notes() -> None:
    layer = note("c5", more='xml:id="a"') + note("d5", more='xml:id="b"') + note("e5")
    beside = (
        '<slur startid="#a" endid="#b"/><trill startid="#b" accidupper="1qf"/>'
        '<dynam tstamp="1">pp</dynam><dir startid="#a"><rend>slap</rend></dir>'
        '<fing startid="#a">T 12</fing><fermata startid="#b"/><tempo mm="60" mm.unit="2"/>'
    )
    part = read(mei(measure(layer, beside)))
    first, second, third = part.notes
    assert (first.is_slurred, second.is_slurred, third.is_slurred) == (False, True, False)
    assert second.trill_kind is TrillKind.TRILL
    assert second.trill_to == WrittenPitch.from_canonical("E5-50c")
    assert (first.fingerings, second.has_fermata, third.dynamic) == (("T 12",), True, "pp")
    assert [each.words for each in part.texts] == ["slap"]
    assert [each.quarters_per_minute for each in part.tempos] == [120]
    assert part.questions == ()


def test_a_tremolo_of_two_notes_is_as_long_as_one_of_them() -> None:
    layer = "<fTrem>" + note("c5", "2") + note("f5", "2") + "</fTrem>" + note("g5")
    part = read(mei(measure(layer)))
    assert [each.duration for each in part.notes] == [2, 1]
    assert part.notes[0].trill_to == WrittenPitch.from_canonical("F5")
    assert NoteFlag.LONE_TREMOLO not in part.notes[0].flags


def test_repeats_and_endings_give_seams() -> None:
    start, end = 'left="rptstart"', 'right="rptend"'
    bars = (
        measure(note("c5"), attributes=start),
        f'<ending n="1">{measure(note("d5"), attributes=end)}</ending>',
        f'<ending n="2">{measure(note("e5"))}</ending>',
    )
    part = read(mei(*bars))
    seams = [(each.from_note, each.to_note, each.reason) for each in part.seams]
    assert seams == [(0, 2, "next ending"), (1, 0, "repeat")]


def test_a_staff_is_a_part_and_the_clarinets_is_chosen() -> None:
    more = '<staffDef n="2"><label>Klarinette in A</label></staffDef>'
    second = f'<staff n="2"><layer>{note("e5")}</layer></staff>'
    content = mei(measure(note("c5"), second), staff='label="Flute"', more=more)
    chosen = transcribe(content)
    assert (chosen.heading.number, chosen.heading.name) == (2, "Klarinette in A")
    assert [head.step for head in chosen.notes] == ["E"]
    assert [head.step for head in transcribe(content, 1).notes] == ["C"]
    assert [each.note_count for each in chosen.parts] == [1, 1]
    assert chosen.title == "Moon study"


def test_the_other_readings_of_an_edition_are_passed_over() -> None:
    layer = f"<app><lem>{note('c5')}</lem><rdg>{note('d5')}</rdg></app>"
    assert written(read(mei(measure(layer)))) == ["C5"]


def test_signs_for_repeated_bars_are_counted() -> None:
    part = read(mei(measure(note("c5")), measure("<mRpt/>", number="2")))
    assert [(each.kind, each.bars) for each in part.left_out] == [
        ("bars with a repeat sign for notes", (1,))
    ]
