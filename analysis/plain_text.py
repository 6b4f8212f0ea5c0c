"""Plain text: what a player types, without what no page, table or PDF can carry.

Left out are control characters but tab and line breaks, halves of surrogate pairs, noncharacters
(a fixed list: Unicode, 23.7), and the byte order mark U+FEFF. PDF/UA forbids the last three as
what a glyph stands for (ISO 14289-1, 7.21.7: not U+0000, U+FEFF or U+FFFE; from memory), and no
database takes NUL everywhere.
"""

import unicodedata

_BREAKS = "\t\n\r"
_BYTE_ORDER_MARK = 0xFEFF
_UNPRINTABLE_CATEGORIES = {"Cc", "Cs"}


def is_printable(character: str) -> bool:
    """Whether a character can stand in a line of text.

    >>> [is_printable(each) for each in ("a", "\\u00e9", "\\x00", "\\ufeff", "\\ud800", "\\n")]
    [True, True, False, False, False, False]
    """
    codepoint = ord(character)
    is_noncharacter = 0xFDD0 <= codepoint <= 0xFDEF or codepoint & 0xFFFE == 0xFFFE
    return (
        not is_noncharacter
        and codepoint != _BYTE_ORDER_MARK
        and unicodedata.category(character) not in _UNPRINTABLE_CATEGORIES
    )


def clean_text(text: str) -> str:
    """Return a text without what cannot be kept; line breaks and tabs stay.

    >>> clean_text("a\\x00 note\\nof \\ufeffmine")
    'a note\\nof mine'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(each for each in text if each in _BREAKS or is_printable(each))
