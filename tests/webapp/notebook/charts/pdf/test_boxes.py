"""The font of last resort has exactly the characters asked for."""

from io import BytesIO

from fontTools.ttLib import TTFont

from webapp.notebook.charts.pdf.boxes import BOX_FAMILY, build_box_font


def open_font(*codepoints: int) -> TTFont:
    return TTFont(BytesIO(build_box_font(codepoints)))


def test_each_character_has_a_glyph_of_its_own() -> None:
    # Own glyphs make copied text come out right: a PDF maps glyphs, not characters, to text.
    cmap = open_font(0x65E5, 0x672C, 0x1F3B5).getBestCmap()

    assert set(cmap) == {0x65E5, 0x672C, 0x1F3B5}
    assert len(set(cmap.values())) == 3


def test_characters_that_are_invisible_take_no_room() -> None:
    # U+200D is the zero-width joiner, U+FE0F a variation selector: Unicode, chapter 23.
    font = open_font(0x200D, 0xFE0F, 0x65E5)

    assert [font["hmtx"][font.getBestCmap()[point]][0] for point in (0x200D, 0xFE0F)] == [0, 0]
    assert font["hmtx"][font.getBestCmap()[0x65E5]][0] > 0


def test_longer_numbers_get_wider_boxes() -> None:
    font = open_font(0x65E5, 0x10FFFD)
    width = {point: font["hmtx"][name][0] for point, name in font.getBestCmap().items()}

    assert width[0x10FFFD] > width[0x65E5]


def test_the_same_characters_give_the_same_bytes_in_any_order() -> None:
    assert build_box_font([0x65E5, 0x672C]) == build_box_font([0x672C, 0x65E5])


def test_the_font_carries_its_own_name() -> None:
    assert open_font(0x65E5)["name"].getDebugName(1) == BOX_FAMILY
