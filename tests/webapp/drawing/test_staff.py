"""Notes stand on the right line with the right sign, and nothing leaves the common view box."""

import re
import xml.etree.ElementTree as ET
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    SIGN_SYSTEMS,
    STEIN_ZIMMERMANN,
    NoteNames,
    Side,
    SignSystem,
    SystemId,
    WrittenPitch,
    format_pitch,
    write_accidental,
)
from webapp.drawing.glyphs import Glyph, load_glyph
from webapp.drawing.staff import (
    STAFF_VIEW_BOX,
    describe_staff,
    draw_staff,
    ledger_steps,
    place_on_staff,
)

SVG = "{http://www.w3.org/2000/svg}"
WHOLE_NOTE = 0xE0A2
# C3 to C7 in eighths of a cent: every sign, with and without something left over.
IN_RANGE = st.integers(min_value=4800 * 8, max_value=9600 * 8).map(lambda n: Fraction(n, 8))
OCTAVE_SIGNS = (0xE511, 0xE515, 0xE518, 0xE51C, 0xE51D, 0xE51E)


def written(canonical: str) -> WrittenPitch:
    return WrittenPitch.from_canonical(canonical)


def placed_signs(svg: str) -> list[tuple[str, float, float]]:
    """Outline, x and y of every music sign in the drawing."""
    found = []
    for path in ET.fromstring(svg).iter(f"{SVG}path"):
        place = re.match(r"translate\(([-.\d]+) ([-.\d]+)\)", path.get("transform", ""))
        assert place is not None
        found.append((path.get("d", ""), float(place[1]), float(place[2])))
    return found


def heights_of_lines(svg: str) -> list[float]:
    return [float(line.get("y1", "")) for line in ET.fromstring(svg).iter(f"{SVG}line")]


def has_sign(svg: str, codepoint: int) -> bool:
    return any(outline == load_glyph(codepoint).path for outline, _, _ in placed_signs(svg))


# Lines and spaces of the two clefs: common practice (any primer of notation), from memory.
@pytest.mark.parametrize(
    ("clef", "note", "step"),
    [
        ("treble", "E4", 0),
        ("treble", "G4", 2),
        ("treble", "B4", 4),
        ("treble", "D5", 6),
        ("treble", "F5", 8),
        ("treble", "F4", 1),
        ("treble", "A4", 3),
        ("treble", "C5", 5),
        ("treble", "E5", 7),
        ("treble", "C4", -2),
        ("treble", "A5", 10),
        ("treble", "C6", 12),
        ("bass", "G2", 0),
        ("bass", "B2", 2),
        ("bass", "D3", 4),
        ("bass", "F3", 6),
        ("bass", "A3", 8),
        ("bass", "C4", 10),
        ("bass", "E2", -2),
    ],
)
def test_a_note_stands_on_the_line_or_space_of_its_name(clef: str, note: str, step: int) -> None:
    assert place_on_staff(written(note), clef).step == step


# Ledger lines: common practice, from memory. Middle C has one, low E (E3) three, high C (C6) two.
@pytest.mark.parametrize(
    ("note", "count"), [("C4", 1), ("D4", 0), ("E3", 3), ("C3", 4), ("A5", 1), ("C6", 2), ("C7", 5)]
)
def test_ledger_lines_are_as_many_as_the_note_needs(note: str, count: int) -> None:
    svg = draw_staff(written(note))

    assert len(ledger_steps(place_on_staff(written(note)).step)) == count
    assert len(heights_of_lines(svg)) == 5 + count


def test_the_notehead_is_drawn_on_its_line() -> None:
    svg = draw_staff(written("B4"))
    middle_line = sorted(heights_of_lines(svg))[2]

    assert (load_glyph(WHOLE_NOTE).path, 60.0, middle_line) in placed_signs(svg)


def test_the_treble_clef_curls_about_the_line_of_its_note() -> None:
    # The G clef's sign sits on the line of G4, the second from below: common practice.
    svg = draw_staff(written("C5"))
    second_line = sorted(heights_of_lines(svg), reverse=True)[1]

    assert (load_glyph(0xE050).path, second_line) in [(d, y) for d, _, y in placed_signs(svg)]


@pytest.mark.parametrize(
    ("note", "style", "codepoint"),
    [
        # Code points: SMuFL tables "Stein-Zimmermann accidentals" and "Gould arrow quartertone
        # accidentals"; their use for eighth tones is common practice.
        ("D5-50c", STEIN_ZIMMERMANN, 0xE280),
        ("F5+50c", STEIN_ZIMMERMANN, 0xE282),
        ("Eb5-50c", STEIN_ZIMMERMANN, 0xE281),
        ("C#5+50c", STEIN_ZIMMERMANN, 0xE283),
        ("D5-25c", SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH], 0xE273),
        ("C#5+25c", SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH], 0xE274),
        ("Bb4", SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH], 0xE260),
    ],
)
def test_the_accidental_is_the_one_of_the_chosen_style(
    note: str, style: SignSystem, codepoint: int
) -> None:
    svg = draw_staff(written(note), style=style)

    assert has_sign(svg, codepoint)
    assert list(ET.fromstring(svg).iter(f"{SVG}text")) == []


def test_what_the_sign_leaves_over_stands_beside_it_in_cents() -> None:
    svg = draw_staff(written("D5-25c"), style=STEIN_ZIMMERMANN)

    assert [text.text for text in ET.fromstring(svg).iter(f"{SVG}text")] == ["−25"]
    assert "figure" in describe_staff(written("D5-25c"))


def test_a_natural_note_has_no_sign() -> None:
    assert len(placed_signs(draw_staff(written("D5")))) == 2


def test_the_words_are_the_pitch_in_the_chosen_language() -> None:
    svg = draw_staff(written("D5-50c"), names=NoteNames.GERMAN, id_prefix="s1")
    title = ET.fromstring(svg).find(f"{SVG}title")

    assert title is not None
    assert title.text == format_pitch(written("D5-50c"), names=NoteNames.GERMAN)


def test_a_bass_part_goes_over_to_the_treble_clef_above_three_ledger_lines() -> None:
    assert has_sign(draw_staff(written("G4"), clef="bass"), 0xE062)
    assert has_sign(draw_staff(written("A4"), clef="bass"), 0xE050)


@pytest.mark.parametrize(("note", "sign"), [("D7", 0xE511), ("B2", 0xE51C), ("B9", 0xE518)])
def test_a_note_outside_the_range_gets_an_octave_sign(note: str, sign: int) -> None:
    assert has_sign(draw_staff(written(note)), sign)


@given(
    cents=IN_RANGE,
    style=st.sampled_from(list(SIGN_SYSTEMS.values())),
    side=st.sampled_from(Side),
)
def test_all_ink_stays_in_one_view_box_that_is_the_same_for_every_note(
    cents: Fraction, style: SignSystem, side: Side
) -> None:
    note = WrittenPitch.from_cents(cents, side)
    svg = draw_staff(note, style=style)

    assert ET.fromstring(svg).get("viewBox") == "0 -4 126 198"
    assert not any(has_sign(svg, sign) for sign in OCTAVE_SIGNS)
    assert_ink_inside(svg, note, style)


@given(
    octave=st.integers(0, 9),
    letter=st.sampled_from("CDEFGAB"),
    clef=st.sampled_from(["treble", "bass"]),
)
def test_every_note_that_can_be_written_has_its_place(octave: int, letter: str, clef: str) -> None:
    note = WrittenPitch(letter, Fraction(0), octave)

    assert_ink_inside(draw_staff(note, clef=clef), note, SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH])


def assert_ink_inside(svg: str, note: WrittenPitch, style: SignSystem) -> None:
    outlines = {glyph.path: glyph for glyph in _glyphs_of(note, style)}
    for path, x, y in placed_signs(svg):
        glyph = outlines[path]
        assert x + glyph.left * 0.04 >= STAFF_VIEW_BOX[0]
        assert x + glyph.right * 0.04 <= STAFF_VIEW_BOX[2]
        assert y - (glyph.bottom + glyph.height) * 0.04 >= STAFF_VIEW_BOX[1]
        assert y - glyph.bottom * 0.04 <= STAFF_VIEW_BOX[3]


def _glyphs_of(note: WrittenPitch, style: SignSystem) -> list[Glyph]:
    accidental = write_accidental(note, style).codepoints
    signs = (0xE050, 0xE062, WHOLE_NOTE, *accidental, *OCTAVE_SIGNS)
    return [load_glyph(codepoint) for codepoint in signs]
