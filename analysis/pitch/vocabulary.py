"""The words players type for pitches, by language: tables only.

Matching ignores case, accents and the difference between spaces and hyphens inside a phrase (see
`analysis.pitch.lexicon`). English accidentals and units are understood under every setting. All
words are common usage of the trade, from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from analysis.pitch.names import NoteNames
from analysis.pitch.wording import WORDINGS


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The words of one language.

    `notes` gives letter and semitones of each note name; `accidentals` the cents that replace the
    natural's; `amounts` sizes in cents that go with a direction; `whole_tone` what may follow a
    fraction of it; the other fields are synonyms.
    """

    notes: Mapping[str, tuple[str, int]]
    accidentals: Mapping[str, int]
    amounts: Mapping[str, Fraction]
    higher: tuple[str, ...]
    lower: tuple[str, ...]
    whole_tone: tuple[str, ...]
    above: tuple[str, ...]
    below: tuple[str, ...]
    articles: tuple[str, ...]
    examples: str


_TWELFTH_TONE = Fraction(50, 3)

_SIGNS = {
    "#": 100, "♯": 100, "##": 200, "♯♯": 200, "x": 200, "𝄪": 200,
    "b": -100, "♭": -100, "bb": -200, "♭♭": -200, "𝄫": -200,
    "♮": 0, "𝄲": 50, "𝄳": -50,
}  # fmt: skip

_ENGLISH = Vocabulary(
    notes={letter: (letter, 0) for letter in "CDEFGAB"},
    accidentals={
        **_SIGNS,
        "sharp": 100, "flat": -100, "natural": 0, "double sharp": 200, "double flat": -200,
        "quarter sharp": 50, "quarter flat": -50, "half sharp": 50, "half flat": -50,
        "three quarter sharp": 150, "three quarters sharp": 150,
        "three quarter flat": -150, "three quarters flat": -150,
        "eighth sharp": 25, "eighth flat": -25,
        "qs": 50, "qf": -50, "tqs": 150, "tqf": -150,
    },
    amounts={
        "quarter tone": Fraction(50), "three quarter tones": Fraction(150),
        "three quarters of a tone": Fraction(150),
        "eighth tone": Fraction(25), "three eighth tones": Fraction(75),
        "third tone": 4 * _TWELFTH_TONE, "sixth tone": 2 * _TWELFTH_TONE,
        "twelfth tone": _TWELFTH_TONE,
        "semitone": Fraction(100), "half tone": Fraction(100), "half step": Fraction(100),
        "whole tone": Fraction(200), "whole step": Fraction(200),
    },
    higher=("higher", "sharp", "up", "raised", "above"),
    lower=("lower", "flat", "down", "lowered", "below"),
    whole_tone=("tone", "tones", "of a tone"),
    above=("above", "over", "higher than", "up from"),
    below=("below", "under", "lower than", "down from"),
    articles=("a", "an", "one", "the"),
    examples="D5, Bb4, D quarter-flat 5, D5 -50, 50 cents above C#5 or 566.2 Hz",
)  # fmt: skip

_GERMAN = Vocabulary(
    notes={
        name: (letter, index - 2)
        for letter, names in WORDINGS[NoteNames.GERMAN].short.items()
        for index, name in enumerate(names)
    }
    | {"ases": ("A", -2)},
    # "is" and "es" are part of the names above; alone they serve the doubtful Bes and Bis.
    accidentals={"is": 100, "es": -100},
    amounts={
        "Viertelton": Fraction(50), "Vierteltöne": Fraction(50),
        "Dreiviertelton": Fraction(150), "drei Vierteltöne": Fraction(150),
        "Achtelton": Fraction(25), "Dreiachtelton": Fraction(75), "drei Achteltöne": Fraction(75),
        "Drittelton": 4 * _TWELFTH_TONE, "Sechstelton": 2 * _TWELFTH_TONE,
        "Zwölftelton": _TWELFTH_TONE,
        "Halbton": Fraction(100), "Ganzton": Fraction(200),
    },
    higher=("höher", "hoeher", "hoch", "erhöht"),
    lower=("tiefer", "tief", "erniedrigt"),
    whole_tone=("Ton", "Töne", "Tons"),
    above=("über", "ueber", "höher als", "hoeher als"),
    below=("unter", "tiefer als"),
    articles=("ein", "eine", "einen", "um", "die", "der"),
    examples="D5, B4, Des5, D5 -50, D5 Viertelton tiefer, 50 Cent über Cis5 or 566.2 Hz",
)  # fmt: skip

_ROMANCE = Vocabulary(
    notes={
        "do": ("C", 0), "ut": ("C", 0), "ré": ("D", 0), "mi": ("E", 0), "fa": ("F", 0),
        "sol": ("G", 0), "la": ("A", 0), "si": ("B", 0),
    },
    accidentals={
        "dièse": 100, "bémol": -100, "bécarre": 0, "double dièse": 200, "double bémol": -200,
        "demi dièse": 50, "demi bémol": -50, "quart de dièse": 50, "quart de bémol": -50,
        "semidiesis": 50, "semibemolle": -50, "mezzo diesis": 50, "mezzo bemolle": -50,
        "medio sostenido": 50, "medio bemol": -50,
        "diesis": 100, "bemolle": -100, "bequadro": 0, "doppio diesis": 200,
        "doppio bemolle": -200,
        "sostenido": 100, "becuadro": 0, "doble sostenido": 200, "doble bemol": -200,
    },
    amounts={
        "quart de ton": Fraction(50), "trois quarts de ton": Fraction(150),
        "huitième de ton": Fraction(25), "trois huitièmes de ton": Fraction(75),
        "tiers de ton": 4 * _TWELFTH_TONE, "sixième de ton": 2 * _TWELFTH_TONE,
        "douzième de ton": _TWELFTH_TONE, "demi ton": Fraction(100), "ton": Fraction(200),
        "quarto di tono": Fraction(50), "tre quarti di tono": Fraction(150),
        "ottavo di tono": Fraction(25), "terzo di tono": 4 * _TWELFTH_TONE,
        "sesto di tono": 2 * _TWELFTH_TONE, "dodicesimo di tono": _TWELFTH_TONE,
        "semitono": Fraction(100), "tono": Fraction(200),
        "cuarto de tono": Fraction(50), "tres cuartos de tono": Fraction(150),
        "octavo de tono": Fraction(25), "tercio de tono": 4 * _TWELFTH_TONE,
        "sexto de tono": 2 * _TWELFTH_TONE, "doceavo de tono": _TWELFTH_TONE,
    },
    higher=(
        "plus haut", "haut", "plus aigu", "più alto", "più alta", "più acuto", "crescente",
        "más alto", "más alta", "más agudo", "arriba", "sopra",
    ),
    lower=(
        "plus bas", "bas", "plus grave", "più basso", "più bassa", "più grave", "calante",
        "más bajo", "más baja", "más grave", "abajo", "sotto",
    ),
    whole_tone=("de ton", "ton", "di tono", "de tono", "tono"),
    above=(
        "au dessus de", "au dessus du", "plus haut que", "sur", "sopra", "sobre", "encima de",
        "por encima de", "al di sopra di", "al di sopra del",
    ),
    below=(
        "au dessous de", "au dessous du", "en dessous de", "plus bas que", "sous", "sotto",
        "bajo", "debajo de", "por debajo de", "al di sotto di", "al di sotto del",
    ),
    articles=("un", "une", "le", "la", "una", "uno"),
    examples="ré5, si bémol 4, ré5 -50, 50 cents au-dessus de do#5 or 566.2 Hz",
)  # fmt: skip

VOCABULARIES: Mapping[NoteNames, Vocabulary] = MappingProxyType(
    {
        NoteNames.ENGLISH: _ENGLISH,
        NoteNames.GERMAN: _GERMAN,
        NoteNames.ROMANCE: _ROMANCE,
    }
)

CENT_UNITS = ("c", "ct", "cent", "cents", "¢", "centième", "centièmes", "centesimi")
HERTZ_UNITS: Mapping[str, int] = MappingProxyType({"hz": 1, "hertz": 1, "khz": 1000})
