"""Text without what no page, table or PDF can carry."""

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from analysis.plain_text import clean_text, is_printable

ANY_TEXT = st.text(st.characters(codec=None, categories=None))


def test_what_pdf_ua_forbids_is_not_printable() -> None:
    # ISO 14289-1, 7.21.7, from memory: no glyph may stand for U+0000, U+FEFF or U+FFFE.
    for codepoint in (0x0000, 0xFEFF, 0xFFFE, 0xFFFF, 0xFDD0, 0x1FFFE, 0xD800, 0xDFFF):
        assert not is_printable(chr(codepoint)), hex(codepoint)
    for character in "aé夜🎵ق\u0301\u200d\u202e":
        assert is_printable(character)


@given(ANY_TEXT)
def test_cleaning_keeps_order_and_breaks_and_is_done_once(text: str) -> None:
    cleaned = clean_text(text)
    assert clean_text(cleaned) == cleaned
    assert cleaned == "".join(each for each in text if each in cleaned)
    assert [each for each in cleaned if each in "\t\n\r"] == [
        each for each in text if each in "\t\n\r"
    ]
    cleaned.encode("utf-8")
    assert all(unicodedata.category(each) != "Cs" for each in cleaned)
