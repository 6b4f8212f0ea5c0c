"""Text direction: isolate the player's own words, which may be of any script, from their line.

A name in Hebrew or Arabic is read from right to left, and by itself would carry punctuation and
numbers beside it along (Unicode Standard Annex 9, "Isolates"; HTML Standard, "The bdi element").
"""

import re

from markupsafe import Markup, escape

_FIRST_STRONG_ISOLATE, _POP_ISOLATE = "\u2068", "\u2069"
# An apostrophe inside a word is no quotation mark.
_QUOTED = re.compile(r"(?<=“)[^”]+(?=”)|(?<=(?<!\w)').+?(?='(?!\w))")
_QUOTED_IN_HTML = re.compile(_QUOTED.pattern.replace("'", "&#39;"))


def isolate(text: object) -> Markup:
    """Return words of the player's as a part of a line with a direction of its own."""
    return Markup("<bdi>{}</bdi>").format(text)


def isolate_plain(text: object) -> str:
    """Return the same where there is room for text only: titles, choices, labels."""
    return f"{_FIRST_STRONG_ISOLATE}{text}{_POP_ISOLATE}"


def isolate_quotes(sentence: object) -> Markup:
    """Return a sentence of the notebook's in which each word that it “quotes” is isolated.

    Refusals and notices are plain text, also for the command line; there the player's words stand
    between these quotation marks.
    """
    return Markup(_QUOTED_IN_HTML.sub(r"<bdi>\g<0></bdi>", str(escape(sentence))))


def isolate_quotes_plain(sentence: str) -> str:
    """Return the same where there is room for text only: what a script shows, a title."""
    return _QUOTED.sub(lambda quoted: isolate_plain(quoted.group()), sentence)
