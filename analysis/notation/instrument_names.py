"""Names of clarinets in scores, in five languages, and the transpositions that they mean.

Part names, instrument names and MusicXML sound names ('wind.reed.clarinet.bflat') are read alike.
Transpositions are common practice, from memory: cents to add to a written pitch.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

BASS_TRANSPOSITIONS = (-1400, -200)
"""Treble (French) and bass-clef (German) notation of the bass clarinet in B-flat."""

_CLARINET = re.compile(r"clarin|klarin|\bcl\b|\bkl\b|bassett?[ -]?horn|cor de basset|bkl|bcl")
# The first that fits decides: what the low ones are called holds the names of the higher ones.
_FAMILY: tuple[tuple[str, tuple[int, ...]], ...] = (
    (r"contra ?alt|kontra ?alt", (-2100,)),
    (r"contra ?b|kontra ?b", (-2600,)),
    (r"bassett?[ -]?horn|cor de basset|corno di bassetto", (-700,)),
    (r"basset", (-300,)),
    (r"bass\b|basse\b|basso\b|bajo\b|bassklar|\bb ?cl\b.*bass|bkl|bcl", BASS_TRANSPOSITIONS),
    (r"\balto?\b|altklar", (-900,)),
    (r"piccolo|sopranino|\be ?flat\b|\beb\b|\bes\b|\bmi ?b(em(ol)?)?\b", (300,)),
    (r"\bb ?flat\b|\bbb\b|\bsi ?b(em(ol)?)?\b|\b(in|en) b\b|\bb (clarin|klarin|cl|kl)", (-200,)),
    (r"\b(in|en) (a|la)\b|\ba (clarin|klarin|cl|kl)|clarinet a$|\bla$", (-300,)),
    (r"\b(in|en) (d|re)\b|\bd (clarin|klarin|cl|kl)|clarinet d$", (200,)),
    (r"\b(in|en) (c|ut|do)\b|\bc (clarin|klarin|cl|kl)|clarinet c$", (0,)),
)
_PLAYERS = re.compile(
    r"\b1 ?[,.+&/-]? ?(?:and |und |et |e )?2\b|\bi ?[,.+&/-] ?ii\b|\ba ?2\b"
    r"|clarinets\b|clarinettes\b|clarinetti\b|clarinetes\b|klarinetten\b"
)


def is_clarinet(names: Iterable[str]) -> bool:
    """Whether any of the names of a part is that of a clarinet.

    >>> is_clarinet(["Klarinette in B"]), is_clarinet(["Violoncello"])
    (True, False)
    """
    return any(_CLARINET.search(fold_name(name)) for name in names)


def find_transpositions(names: Iterable[str]) -> tuple[int, ...]:
    """Return the transpositions that the names of a clarinet can mean, in cents; none if unknown.

    >>> find_transpositions(["Clarinet in B♭ 1"]), find_transpositions(["Clarinette basse"])
    ((-200,), (-1400, -200))
    >>> find_transpositions(["Clarinet"]), find_transpositions(["wind.reed.clarinet.a"])
    ((), (-300,))
    """
    for name in names:
        folded = fold_name(name)
        if not _CLARINET.search(folded):
            continue
        for pattern, cents in _FAMILY:
            if re.search(pattern, folded):
                return cents
    return ()


def names_two_players(names: Iterable[str]) -> bool:
    """Whether a name is that of a part for two players.

    >>> names_two_players(["Clarinets 1, 2 in A"]), names_two_players(["Clarinet 2"])
    (True, False)
    """
    return any(_PLAYERS.search(fold_name(name)) for name in names)


def fold_name(name: str) -> str:
    """Return a name in lower case, without accents, with blanks for marks and dots.

    >>> fold_name("Clarinette en si♭")
    'clarinette en sib'
    """
    plain = unicodedata.normalize("NFD", name.replace("♭", "b").replace("♯", "#").lower())
    letters = "".join(each for each in plain if not unicodedata.combining(each))
    return " ".join(re.sub(r"[^\w,+&/#-]|_", " ", letters).replace("-", " ").split())
