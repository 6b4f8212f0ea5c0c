"""Notes, bars and time in real score files, case by case: each is a small file written for it.

Right readings are those of the MusicXML 4.0 documentation (`alter`, `accidental`, `transpose`,
`for-part`) and of common practice: a sign holds through its bar on its own line or space, a tie
carries it on.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from analysis.pitch import WrittenPitch
from analysis.score import (
    NoteFlag,
    QuestionTopic,
    ReadingSettings,
    TempoAnswer,
    TrillAnswer,
    TrillKind,
)
from tests.analysis.notation.scores import (
    attributes,
    bar,
    bars_of,
    note,
    read,
    rest,
    score,
    sounding,
    topics,
    words,
    written,
)


def one_bar(*items: str, **named: Any) -> bytes:
    return score(bar(*items), **named)


# --- notes


def test_grace_notes_have_no_time_cues_are_left_out_small_notes_are_played() -> None:
    small = note("E5", more="<type size='cue'>quarter</type>")
    part = read(
        one_bar(
            note("C5", duration=None, before="<grace/>"),
            note("D5"),
            note("A5", before="<cue/>"),
            small,
        )
    )
    assert written(part) == ["C5", "D5", "E5"]
    assert [each.duration for each in part.notes] == [0, 1, 1]
    assert [each.is_grace for each in part.notes] == [True, False, False]
    assert part.notes[2].onset == 2
    assert [(each.kind, each.count) for each in part.left_out] == [("cue notes", 1)]


def test_a_chord_is_one_multiphonic_with_its_fingering() -> None:
    fingering = "<technical><fingering>T 12- | 1--</fingering></technical>"
    part = read(
        one_bar(note("B5"), note("D4", notations=fingering), note("C6 0.5", more="<chord/>"))
    )
    assert len(part.notes) == 2
    chord = part.notes[1]
    assert [each.canonical for each in chord.chord] == ["D4", "C6+50c"]
    assert chord.fingerings == ("T 12- | 1--",)
    assert part.questions == ()


TWO_VOICES = [
    note("C6"), note("D6"), "<backup><duration>2</duration></backup>",
    note("C5", voice="2"), note("D5", voice="2", more=""),
]  # fmt: skip


@pytest.mark.parametrize(
    ("voice", "expected"),
    [("1", ["C6", "D6"]), ("2", ["C5", "D5"]), ("top", ["C6", "D6"]), ("bottom", ["C5", "D5"])],
)
def test_two_voices_are_never_merged(voice: str, expected: list[str]) -> None:
    content = one_bar(*TWO_VOICES)
    part = read(content)
    (question,) = part.questions
    assert (question.topic, question.assumed) == (QuestionTopic.VOICE, "1")
    assert [(each.count, each.bars) for each in part.left_out] == [(2, (0,))]
    read_as = {each.answer: [p.canonical for p in each.written] for each in question.readings}
    assert read_as[voice] == expected
    told = read(content, ReadingSettings(voice=voice))
    assert (written(told), told.questions) == (expected, ())


def test_chords_of_a_part_for_two_players_are_asked_about() -> None:
    content = one_bar(note("C5"), note("E5", more="<chord/>"), name="Clarinets 1, 2 in Bb")
    (question,) = read(content).questions
    read_as = {each.answer: [p.canonical for p in each.written] for each in question.readings}
    assert read_as["top"] == ["E5"] and read_as["bottom"] == ["C5"]
    part = read(content, ReadingSettings(voice="1"))
    assert len(part.notes[0].chord) == 2


def test_voices_that_never_meet_are_one_line() -> None:
    part = read(score(*bars_of([note("C5")], [note("D5", voice="2")])))
    assert (written(part), part.questions) == (["C5", "D5"], ())


TRILL = "<ornaments><trill-mark/>{}</ornaments>"


def test_a_trill_with_a_sign_has_its_upper_note() -> None:
    marked = TRILL.format("<accidental-mark>quarter-flat</accidental-mark>")
    part = read(one_bar(note("D5", notations=marked)))
    (found,) = part.notes
    assert found.trill_kind is TrillKind.TRILL
    assert found.trill_to == WrittenPitch.from_canonical("E5-50c")
    assert part.questions == ()


def test_the_upper_note_of_a_trill_without_a_sign_is_asked() -> None:
    key = "<key><fifths>-2</fifths></key>"
    content = one_bar(note("D5", notations=TRILL.format("")), begin=key)
    part = read(content)
    (found,) = part.notes
    assert found.trill_to == WrittenPitch.from_canonical("Eb5")
    assert found.flags == (NoteFlag.TRILL_ASSUMED,)
    (question,) = part.questions
    assert question.topic is QuestionTopic.TRILLS
    (taken,) = question.readings
    assert [each.canonical for each in taken.written] == ["D5", "Eb5"]
    assert read(content, taken.settings).questions == ()
    upper = TrillAnswer(0, Fraction(0), WrittenPitch.from_canonical("D5+50c"))
    told = read(content, ReadingSettings(trills=(upper,)))
    assert told.notes[0].trill_to == upper.upper
    assert (told.notes[0].flags, told.questions) == ((), ())


def test_a_timbral_trill_claims_no_second_note() -> None:
    part = read(one_bar(words("bisbigliando"), note("D5", notations=TRILL.format(""))))
    assert part.notes[0].trill_kind is TrillKind.TIMBRAL
    assert part.notes[0].trill_to is None
    assert [(each.words, each.is_technique) for each in part.texts] == [("bisbigliando", True)]
    assert part.questions == ()


def test_a_tremolo_of_two_notes_is_a_pair() -> None:
    start = '<ornaments><tremolo type="start">3</tremolo></ornaments>'
    items = [note("D5", notations=start), note("F5 0.5", notations=start.replace("start", "stop"))]
    part = read(one_bar(*items, note("G5")))
    pair, after = part.notes
    assert pair.trill_kind is TrillKind.TREMOLO
    assert pair.duration == 2
    assert pair.trill_to == WrittenPitch.from_canonical("F5+50c")
    assert (after.index, after.written.canonical) == (1, "G5")


def test_a_lone_half_of_a_tremolo_stays_a_note() -> None:
    start = '<ornaments><tremolo type="start">3</tremolo></ornaments>'
    part = read(one_bar(note("D5", notations=start), note("E5")))
    assert written(part) == ["D5", "E5"]
    assert part.notes[0].flags == (NoteFlag.LONE_TREMOLO,)


def test_what_has_no_pitch_is_kept_as_words_and_counted() -> None:
    unpitched = "<note><unpitched/><duration>1</duration><notehead>x</notehead></note>"
    part = read(one_bar(words("air"), unpitched, note("D5")))
    assert written(part) == ["D5"]
    assert [each.words for each in part.texts if each.is_technique] == [
        "air",
        "a note without pitch: notehead x",
    ]
    assert [(each.kind, each.count) for each in part.left_out] == [("notes without pitch", 1)]


def test_signs_for_a_repeated_bar_and_texts_under_notes_are_counted() -> None:
    style = "<measure-style><measure-repeat type='{}'>1</measure-repeat></measure-style>"
    second = [attributes(style.format("start")), rest()]
    third = [attributes(style.format("stop")), note("D5", more="<lyric><text>la</text></lyric>")]
    part = read(score(*bars_of([note("C5")], second, third)))
    assert [(each.kind, each.count, each.bars) for each in part.left_out] == [
        ("bars with a repeat sign for notes", 1, (1,)),
        ("texts under notes", 1, (2,)),
    ]


def test_techniques_articulations_and_dynamics_stay_with_their_note() -> None:
    marks = (
        "<technical><harmonic/><other-technical>slap</other-technical></technical>"
        "<articulations><staccato/></articulations><dynamics><pp/></dynamics><fermata/>"
    )
    part = read(one_bar(note("D5", notations=marks), note("E5")))
    first, second = part.notes
    assert first.techniques == ("harmonic", "slap")
    assert (first.articulations, first.has_fermata) == (("staccato",), True)
    assert (first.dynamic, second.dynamic) == ("pp", "pp")


def test_slurs_join_what_follows_their_start() -> None:
    start, stop = '<slur type="start" number="1"/>', '<slur type="stop" number="1"/>'
    items = [
        note("C5", notations=start),
        note("D5"),
        note("E5", notations=stop + start),
        note("F5", notations=stop),
    ]
    part = read(one_bar(*items, note("G5", notations=start), note("A5")))
    assert [each.is_slurred for each in part.notes] == [False, True, True, True, False, False]


def test_a_tie_to_another_pitch_is_a_slur() -> None:
    items = [
        note("C5", more='<tie type="start"/>'),
        note("C5 0.5", "quarter-sharp", more='<tie type="stop"/>'),
    ]
    part = read(one_bar(*items))
    assert written(part) == ["C5", "C5+50c"]
    assert part.notes[1].is_slurred


def test_a_tie_that_leads_nowhere_is_said() -> None:
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    part = read(one_bar(note("C5", more=start), note("D5"), note("E5", more=stop)))
    assert [each.flags for each in part.notes] == [(NoteFlag.TIE_TO_NOWHERE,), (), ()]
    through = [note("C5", more=start), note("C5", more=start + stop), note("C5", more=stop)]
    (whole,) = read(one_bar(*through)).notes
    assert (whole.flags, int(whole.duration)) == ((), 3)
    (last,) = read(one_bar(note("C5", more=start))).notes
    assert last.flags == (NoteFlag.TIE_TO_NOWHERE,)


# --- bars and time


def repeat(direction: str) -> str:
    return f'<barline><repeat direction="{direction}"/></barline>'


def ending(number: str, kind: str) -> str:
    return f'<barline><ending number="{number}" type="{kind}"/></barline>'


def test_each_bar_is_read_once_and_repeats_give_seams() -> None:
    bars = bars_of(
        [note("C5")],
        [repeat("forward"), note("D5")],
        [note("E5")],
        [ending("1", "start"), note("F5"), ending("1", "stop"), repeat("backward")],
        [ending("2", "start"), note("G5"), ending("2", "stop")],
        [note("A5"), repeat("backward")],
    )
    part = read(score(*bars))
    assert written(part) == ["C5", "D5", "E5", "F5", "G5", "A5"]
    seams = [(each.from_note, each.to_note, each.reason) for each in part.seams]
    assert seams == [(2, 4, "next ending"), (3, 1, "repeat"), (5, 5, "repeat")]


def test_jumps_give_seams() -> None:
    bars = bars_of(
        [note("C5")],
        ['<sound segno="a"/>', note("D5")],
        [note("E5"), '<sound tocoda="c"/>'],
        [note("F5"), '<sound dalsegno="a"/>'],
        ['<sound coda="c"/>', note("G5")],
    )
    part = read(score(*bars))
    assert [(each.from_note, each.to_note, each.reason) for each in part.seams] == [
        (2, 4, "coda"),
        (3, 1, "dal segno"),
    ]


def test_numbers_of_bars_are_labels() -> None:
    content = score(*(bar(note("C5"), number=number) for number in ("X1", "", "7", "7")))
    part = read(content)
    assert [(each.index, each.label) for each in part.bars] == [
        (0, "X1"),
        (1, ""),
        (2, "7"),
        (3, "7"),
    ]
    assert [each.bar for each in part.notes] == [0, 1, 2, 3]


@pytest.mark.parametrize(
    "direction",
    [
        '<sound tempo="90"/>',
        "<direction><direction-type><metronome><beat-unit>eighth</beat-unit>"
        "<per-minute>c. 180</per-minute></metronome></direction-type></direction>",
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        "<per-minute>60</per-minute></metronome></direction-type></direction>",
    ],
)
def test_a_tempo_is_read_from_sound_or_metronome(direction: str) -> None:
    part = read(one_bar(direction, note("C5", duration=3), tempo=""))
    assert [(each.quarters_per_minute, each.is_printed) for each in part.tempos] == [
        (Fraction(90), True)
    ]
    assert part.duration_s(part.notes[0]) == pytest.approx(2.0)


def test_without_a_tempo_one_figure_is_asked() -> None:
    content = one_bar(note("C5"), tempo="")
    part = read(content)
    assert topics(part) == ["tempo"]
    assert part.duration_s(part.notes[0]) is None
    told = read(content, ReadingSettings(tempos=(TempoAnswer(0, Fraction(120)),)))
    assert (told.questions, told.duration_s(told.notes[0])) == ((), 0.5)


@pytest.mark.parametrize(
    ("divisions", "length"), [("", Fraction(4)), ("0", Fraction(4)), ("8", Fraction(1, 2))]
)
def test_divisions_missing_or_zero_count_as_one(divisions: str, length: Fraction) -> None:
    assert read(one_bar(note("C5", duration=4), divisions=divisions)).notes[0].duration == length


def test_divisions_may_change_and_a_bar_is_as_long_as_its_furthest_point() -> None:
    items = [
        note("C5", duration=2), attributes("<divisions>3</divisions>"), note("D5", duration=2),
        attributes("<divisions>0</divisions>"), note("E5", duration=1),
        "<backup><duration>99</duration></backup>", rest(1),
    ]  # fmt: skip
    part = read(score(bar(*items), bar(note("F5")), divisions="2"))
    assert [each.onset for each in part.notes] == [0, 1, Fraction(5, 3), 0]
    assert [each.length for each in part.bars] == [2, Fraction(1, 3)]
    assert part.notes[3].start == 2


def test_a_letter_altered_beyond_what_can_be_written_is_named_anew() -> None:
    (found,) = read(one_bar(note("E5 -3", "triple-flat"))).notes
    assert (found.written.canonical, found.sounding.cents) == ("C#5", 7100)
    assert found.flags == (NoteFlag.RESPELLED,)


def test_the_same_transcript_is_read_again_under_every_answer() -> None:
    """An answer never needs the file: settings of a reading give what the reading showed."""
    content = one_bar(note("D5", "natural-up"), note("D5"), *TWO_VOICES, transposition=None)
    part = read(content)
    assert topics(part) == ["pitch", "voice", "arrows", "sign lasts"]
    for question in part.questions:
        for reading in question.readings:
            assert reading.settings is not None
            told = read(content, reading.settings)
            shown = tuple(note.written for note in told.notes[: len(reading.written)])
            assert reading.written == shown
            assert question.topic not in {each.topic for each in told.questions}
    # the arrow of the upper voice holds on the staff, so for the lower one as well
    both = ReadingSettings(voice="2", transposition_cents=-300)
    assert sounding(read(content, both)) == [7200 - 300, 7450 - 300]
