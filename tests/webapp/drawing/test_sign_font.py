"""The font of signs: every sign of every system has its character, and the bytes stay the same."""

from io import BytesIO

from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from analysis.pitch import SIGN_SYSTEMS
from webapp.drawing.sign_font import SIGN_FAMILY, build_sign_font, list_codepoints


def font() -> TTFont:
    return TTFont(BytesIO(build_sign_font()))


def test_every_sign_of_every_system_has_its_character() -> None:
    wanted = {
        point
        for system in SIGN_SYSTEMS.values()
        for sign, _ in system.signs
        for point in sign.codepoints
    }
    assert wanted <= list_codepoints() == set(font().getBestCmap())


def test_every_character_has_ink_within_its_width_and_a_line_of_text() -> None:
    made = font()
    glyphs = made.getGlyphSet()
    for name in made.getBestCmap().values():
        pen = BoundsPen(glyphs)
        glyphs[name].draw(pen)
        assert pen.bounds is not None
        left, bottom, right, top = pen.bounds
        assert left >= 0
        assert right <= glyphs[name].width
        # A line of a page is 1.5 em; a double arrow may reach a little into the lines beside it.
        assert bottom > -600
        assert top < 1300


def test_the_bytes_are_the_same_and_the_name_is_its_own() -> None:
    first = build_sign_font()
    build_sign_font.cache_clear()
    assert build_sign_font() == first
    # The SIL Open Font License keeps the name of the source for the source.
    names = {str(record) for record in font()["name"].names}
    assert SIGN_FAMILY in names
    assert not any("Bravura" in name for name in names)


def test_it_is_small() -> None:
    assert len(build_sign_font()) < 12_000
