"""Names of notes in each language when they are shown: tables only.

Each letter has five names, from double flat to double sharp. Octaves are scientific in all.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from analysis.pitch.names import NoteNames

_SOLFEGE = {"C": "do", "D": "ré", "E": "mi", "F": "fa", "G": "sol", "A": "la", "B": "si"}
_SIGNS = ("♭♭", "♭", "", "♯", "♯♯")

NamesByLetter = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Wording:
    """The words of one language.

    `short` and `words` hold the five names of each letter; `quarter_names` are whole accidentals
    by their cents where the language has them, otherwise quarter tones are told by `quarter_tone`.
    """

    short: NamesByLetter
    words: NamesByLetter
    quarter_names: Mapping[int, str]
    quarter_tone: str
    cent: str
    cents: str
    higher: str
    lower: str


def _names(letters: Mapping[str, str], accidentals: tuple[str, ...]) -> NamesByLetter:
    return MappingProxyType(
        {
            letter: tuple(name + accidental for accidental in accidentals)
            for letter, name in letters.items()
        }
    )


_ENGLISH_LETTERS = {letter: letter for letter in _SOLFEGE}
_GERMAN: NamesByLetter = MappingProxyType(
    {
        "C": ("Ceses", "Ces", "C", "Cis", "Cisis"),
        "D": ("Deses", "Des", "D", "Dis", "Disis"),
        "E": ("Eses", "Es", "E", "Eis", "Eisis"),
        "F": ("Feses", "Fes", "F", "Fis", "Fisis"),
        "G": ("Geses", "Ges", "G", "Gis", "Gisis"),
        "A": ("Asas", "As", "A", "Ais", "Aisis"),
        "B": ("Heses", "B", "H", "His", "Hisis"),
    }
)

WORDINGS: Mapping[NoteNames, Wording] = MappingProxyType(
    {
        NoteNames.ENGLISH: Wording(
            short=_names(_ENGLISH_LETTERS, _SIGNS),
            words=_names(
                _ENGLISH_LETTERS, (" double flat", " flat", "", " sharp", " double sharp")
            ),
            quarter_names={
                -150: " three-quarters-flat",
                -50: " quarter-flat",
                50: " quarter-sharp",
                150: " three-quarters-sharp",
            },
            quarter_tone="a quarter tone",
            cent="cent",
            cents="cents",
            higher="higher",
            lower="lower",
        ),
        NoteNames.GERMAN: Wording(
            short=_GERMAN,
            words=_GERMAN,
            quarter_names={},
            quarter_tone="Viertelton",
            cent="Cent",
            cents="Cent",
            higher="höher",
            lower="tiefer",
        ),
        NoteNames.ROMANCE: Wording(
            short=_names(_SOLFEGE, _SIGNS),
            words=_names(_SOLFEGE, (" double bémol", " bémol", "", " dièse", " double dièse")),
            quarter_names={},
            quarter_tone="quart de ton",
            cent="cent",
            cents="cents",
            higher="plus haut",
            lower="plus bas",
        ),
    }
)
