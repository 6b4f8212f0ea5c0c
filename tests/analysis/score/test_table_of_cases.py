"""Signs and transpositions in real score files, case by case: each is a small file written for it.

Right readings are those of the MusicXML 4.0 documentation (`alter`, `accidental`, `transpose`,
`for-part`) and of common practice: a sign holds through its bar on its own line or space, a tie
carries it on.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from analysis.score import (
    QuestionTopic,
    ReadingSettings,
    SignFlag,
    SignLasts,
)
from tests.analysis.notation.scores import (
    attributes,
    bar,
    bars_of,
    note,
    read,
    score,
    sounding,
    topics,
    transpose,
    words,
    written,
)


def one_bar(*items: str, **named: Any) -> bytes:
    return score(bar(*items), **named)


# --- alterations and signs


@pytest.mark.parametrize("sign", ["quarter-flat", None])
def test_a_quarter_tone_in_alter_is_read_with_and_without_its_sign(sign: str | None) -> None:
    (found,) = read(one_bar(note("D5 -0.5", sign))).notes
    assert found.written.canonical == "D5-50c"
    assert found.sounding.cents == 7150
    assert found.flags == (() if sign else (SignFlag.UNPRINTED,))


@pytest.mark.parametrize(
    ("alter", "canonical"),
    [
        ("0.333333", "D5+100/3c"),
        ("0.1667", "D5+50/3c"),
        ("-0.14286", "D5-100/7c"),
        ("0.4", "D5+40c"),
        ("0.125", "D5+25/2c"),
        ("-0.31174", "D5-15587/500c"),
    ],
)
def test_decimals_become_the_fractions_they_were(alter: str, canonical: str) -> None:
    assert written(read(one_bar(note(f"D5 {alter}", "other")))) == [canonical]


@pytest.mark.parametrize("name", ["D5", "D5 0"])
def test_a_sign_whose_alter_is_missing_is_taken(name: str) -> None:
    (found,) = read(one_bar(note(name, "quarter-flat"))).notes
    assert found.written.canonical == "D5-50c"
    assert found.flags == (SignFlag.FROM_SIGN,)


def test_a_rounded_alter_gives_way_to_the_sign() -> None:
    (found,) = read(one_bar(note("F5 1", "quarter-sharp"))).notes
    assert found.written.canonical == "F5+50c"
    assert found.flags == (SignFlag.SIGN_OVER_ROUNDED,)


def test_what_an_exporter_rounded_and_repeats_needs_no_question() -> None:
    part = read(one_bar(note("F5 1", "quarter-sharp"), note("F5 1"), note("F5", "natural")))
    assert written(part) == ["F5+50c", "F5+50c", "F5"]
    assert part.questions == ()


UNSIGNED = [note("D5 -0.5", "quarter-flat"), note("E5"), note("D5"), note("D5"), note("D6")]


def test_a_later_note_without_a_sign_is_asked_about_once() -> None:
    part = read(score(*bars_of(UNSIGNED, UNSIGNED)))
    assert written(part)[:5] == ["D5-50c", "E5", "D5-50c", "D5-50c", "D6"]
    assert part.notes[2].flags == (SignFlag.BAR_ASSUMED,)
    (question,) = part.questions
    assert question.topic is QuestionTopic.SIGN_LASTS
    assert (question.bars, question.assumed) == ((0, 1), "bar")
    read_as = {each.answer: [p.canonical for p in each.written] for each in question.readings}
    assert read_as == {
        "bar": ["D5-50c", "E5", "D5-50c", "D5-50c", "D6"],
        "note": ["D5-50c", "E5", "D5", "D5", "D6"],
        "repetitions": ["D5-50c", "E5", "D5", "D5", "D6"],
    }


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        (SignLasts.BAR, ["D5-50c", "D5-50c", "E5", "D5-50c"]),
        (SignLasts.NOTE, ["D5-50c", "D5", "E5", "D5"]),
        (SignLasts.REPETITIONS, ["D5-50c", "D5-50c", "E5", "D5"]),
    ],
)
def test_the_answer_decides_for_the_part(rule: SignLasts, expected: list[str]) -> None:
    content = one_bar(note("D5", "quarter-flat"), note("D5"), note("E5"), note("D5"))
    part = read(content, ReadingSettings(sign_lasts=rule))
    assert written(part) == expected
    assert part.questions == ()


def test_a_faithful_exporter_is_trusted_everywhere() -> None:
    # bar 2 shows a microtone without a sign: so nothing is left out of alter in bar 1 either
    part = read(score(*bars_of(UNSIGNED, [note("F5 0.5", "quarter-sharp"), note("F5 0.5")])))
    assert written(part)[2:4] == ["D5", "D5"]
    assert part.questions == ()
    assert part.notes[6].flags == ()


def test_a_sign_holds_on_its_staff_and_octave_alone_and_a_tie_carries_it_on() -> None:
    first = [
        note("D5", "quarter-flat", staff=1),
        note("D6", staff=1),
        note("D5", staff=1, more='<tie type="start"/>'),
    ]
    second = [note("D5", staff=1, more='<tie type="stop"/>'), note("D5", staff=1)]
    part = read(score(*bars_of(first, second)))
    assert written(part) == ["D5-50c", "D6", "D5-50c", "D5"]
    tied = part.notes[2]
    assert (tied.bar, tied.last_bar, tied.is_tied) == (0, 1, True)
    assert tied.duration == 2


def test_another_staff_keeps_its_own_signs() -> None:
    lower = [note("D5", staff=2, voice="2")]
    items = [note("D5", "quarter-flat", staff=1), *lower]
    part = read(one_bar(*items), ReadingSettings(voice="2.2"))
    assert written(part) == ["D5"]


def test_an_arrow_with_alter_is_its_alter() -> None:
    part = read(one_bar(note("D5 0.25", "natural-up"), note("E5 -1.25", "flat-down")))
    assert written(part) == ["D5+25c", "Eb5-25c"]
    assert part.questions == ()


def test_an_arrow_without_alter_is_as_on_other_notes() -> None:
    part = read(one_bar(note("D5 0.25", "natural-up"), note("F5", "sharp-down")))
    assert written(part) == ["D5+25c", "F#5-25c"]
    assert part.notes[1].flags == (SignFlag.ARROW_BY_OTHERS,)


def test_arrows_that_no_note_explains_are_asked_in_cents() -> None:
    content = one_bar(note("D5", "natural-up"), note("F5 1", "sharp-down"))
    part = read(content)
    assert written(part) == ["D5+50c", "F5+50c"]
    (question,) = part.questions
    assert (question.topic, question.assumed) == (QuestionTopic.ARROWS, "50")
    quarter, sixth, *_ = question.readings
    assert [each.canonical for each in sixth.written] == ["D5+100/3c", "F#5-100/3c"]
    assert quarter.sounding[0].cents == 7250
    told = read(content, ReadingSettings(arrow_cents=Fraction(25)))
    assert (written(told), told.questions) == (["D5+25c", "F#5-25c"], ())


def test_arrows_of_two_sizes_explain_nothing() -> None:
    items = [note("D5 0.25", "natural-up"), note("E5 0.5", "natural-up"), note("F5", "natural-up")]
    assert topics(read(one_bar(*items))) == ["arrows"]


@pytest.mark.parametrize(
    ("sign", "canonical"), [("koron", "E5-50c"), ("sori", "E5+50c"), ("flat-1", "E5-1200/53c")]
)
def test_signs_with_a_stated_size_need_no_alter(sign: str, canonical: str) -> None:
    part = read(one_bar(note("E5", sign)))
    assert (written(part), topics(part)) == ([canonical], [])


def test_a_stroked_flat_is_its_alter_or_asked() -> None:
    assert written(read(one_bar(note("E5 -0.25", "slash-flat")))) == ["E5-25c"]
    content = one_bar(note("E5", "slash-flat"))
    part = read(content)
    assert (written(part), topics(part)) == (["E5-50c"], ["stroked signs"])
    told = read(content, ReadingSettings(stroked_cents=Fraction(150)))
    assert (written(told), topics(told)) == (["Eb5-50c"], [])


def test_an_unknown_sign_is_asked_by_its_name() -> None:
    content = one_bar(note("E5", "moon-rising"))
    part = read(content)
    (question,) = part.questions
    assert question.topic is QuestionTopic.UNKNOWN_SIGNS
    assert "moon-rising" in question.words
    assert part.notes[0].flags == (SignFlag.UNKNOWN_SIGN,)
    told = read(content, ReadingSettings(sign_cents=(("moon-rising", Fraction(30)),)))
    assert (written(told), topics(told)) == (["E5+30c"], [])


@pytest.mark.parametrize(
    ("glyph", "canonical"),
    [
        ("accidentalQuarterToneSharpStein", "E5+50c"),
        ("accidentalThreeQuarterTonesFlatArabic", "Eb5-50c"),
        ("accidentalFlatOneArrowUp", "Eb5+10753/500c"),
        ("accidentalKoron", "E5-50c"),
    ],
)
def test_smufl_names_with_a_size_are_read(glyph: str, canonical: str) -> None:
    sign = f'<accidental smufl="{glyph}">other</accidental>'
    content = one_bar(note("E5").replace("</note>", f"{sign}</note>"))
    assert written(read(content)) == [canonical]
    with_alter = one_bar(note("E5 0.25").replace("</note>", f"{sign}</note>"))
    assert written(read(with_alter)) == ["E5+25c"]


def test_an_empty_accidental_is_none() -> None:
    part = read(one_bar(note("E5", "")))
    assert (written(part), part.notes[0].flags) == (["E5"], ())


def test_a_key_of_microtones_only_feeds_the_question() -> None:
    key = "<key><key-step>B</key-step><key-alter>-0.5</key-alter></key>"
    content = one_bar(note("B4"), note("C5"), begin=key)
    part = read(content)
    assert written(part) == ["B4", "C5"]
    assert part.notes[0].flags == (SignFlag.KEY_LEFT_OUT,)
    (question,) = part.questions
    assert question.topic is QuestionTopic.SIGN_LASTS
    assert [each.written[0].canonical for each in question.readings] == ["B4-50c", "B4", "B4"]


# --- transposition


@pytest.mark.parametrize(
    ("stated", "cents"),
    [
        ("-1 -2", -200),
        ("-2 -3", -300),
        ("2 3", 300),
        ("-1 -2 -1", -1400),
        ("-8 -14", -1400),
        ("- -14", -1400),
    ],
)
def test_transpose_is_added_to_what_is_written(stated: str, cents: int) -> None:
    part = read(one_bar(note("D5 -0.5", "quarter-flat"), transposition=stated, name="Clarinet"))
    assert written(part) == ["D5-50c"]
    assert sounding(part) == [7350 + cents]
    assert part.questions == ()


def test_a_change_of_transposition_begins_a_segment() -> None:
    second = [attributes(transpose("-2 -3")), note("C5"), note("D5")]
    part = read(score(*bars_of([note("C5")], second)))
    assert [(each.bar, each.transposition_cents) for each in part.segments] == [
        (0, -200),
        (1, -300),
    ]
    assert [each.segment for each in part.notes] == [0, 1, 1]
    assert sounding(part) == [7000, 6900, 7100]
    assert part.remarks == ()


def test_words_that_change_the_instrument_without_transpose_are_warned_of() -> None:
    part = read(score(*bars_of([note("C5")], [words("to A clarinet"), note("C5")])))
    (remark,) = part.remarks
    assert remark.bars == (1,)
    assert "to A clarinet" in remark.words
    changed = [words("to A clarinet"), attributes(transpose("-2 -3")), note("C5")]
    assert read(score(*bars_of([note("C5")], changed))).remarks == ()


def test_where_diatonic_and_chromatic_disagree_chromatic_decides() -> None:
    part = read(one_bar(note("C5"), transposition="-5 -2"))
    assert sounding(part) == [7000]
    assert len(part.remarks) == 1


@pytest.mark.parametrize("stated", [None, "0 0"])
def test_a_b_flat_clarinet_without_a_transposition_is_asked_about(stated: str | None) -> None:
    content = one_bar(note("C5"), note("D5"), transposition=stated)
    part = read(content)
    (question,) = part.questions
    assert (question.topic, question.assumed) == (QuestionTopic.PITCH, "written -200")
    as_written, as_sounding = question.readings
    assert [each.cents for each in as_written.sounding] == [7000, 7200]
    assert [each.canonical for each in as_sounding.written] == ["D5", "E5"]
    assert as_sounding.settings is not None
    told = read(content, as_sounding.settings)
    assert (written(told), sounding(told), told.questions) == (["D5", "E5"], [7200, 7400], ())


def test_a_part_of_no_known_instrument_is_asked_for_the_usual_clarinets() -> None:
    content = one_bar(note("C5"), transposition=None, name="Solo")
    (question,) = read(content).questions
    assert question.assumed == "written 0"
    assert [each.answer for each in question.readings] == [
        "written -200", "written -300", "written 0", "sounding -200", "sounding -300",
    ]  # fmt: skip
    (as_heard,) = read(content, ReadingSettings(is_sounding=True)).questions
    assert as_heard.assumed == "sounding 0"
    assert [each.written[0].canonical for each in as_heard.readings] == ["D5", "Eb5", "C5"]


def test_a_bass_clarinet_in_bass_clef_without_transpose_is_heard_both_ways() -> None:
    bass = attributes("<clef><sign>F</sign><line>4</line></clef>")
    content = score(
        *bars_of([note("E4")], [bass, note("E3")]), transposition=None, name="Bass Clarinet"
    )
    (question,) = read(content).questions
    assert question.bars == (1,)
    assert [each.sounding[0].cents for each in question.readings[:2]] == [5200 - 1400, 5200 - 200]
    assert [each.answer for each in question.readings[:2]] == ["written -1400", "written -200"]


def test_a_concert_score_sounds_and_its_part_is_written_by_for_part() -> None:
    inner = f"<for-part>{transpose('-1 -2 -1', tag='part-transpose')}</for-part>"
    defaults = "<defaults><concert-score/></defaults>"
    content = one_bar(
        note("B2 -0.5", "quarter-flat"), transposition=None, begin=inner, defaults=defaults
    )
    part = read(content)
    assert (written(part), sounding(part)) == (["C4+50c"], [4650])
    assert part.questions == ()


def test_the_clef_moves_nothing() -> None:
    low = attributes(
        "<clef><sign>F</sign><line>4</line><clef-octave-change>-1</clef-octave-change></clef>"
    )
    part = read(one_bar(note("C4"), low, note("C4"), transposition="-1 -2 -1"))
    assert sounding(part) == [4600, 4600]


def test_an_octave_line_moves_nothing() -> None:
    shift = '<direction-type><octave-shift type="down" size="8"/></direction-type>'
    line = f"<direction>{shift}</direction>"
    assert sounding(read(one_bar(note("C5"), line, note("C6")))) == [7000, 8200]
