"""The clarinet family: what each member sounds when it plays a written note, and how far it goes.

Transpositions, lowest notes and the ordinary top (G6 in treble notation) are common practice, from
memory. Further members are further rows.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Literal

from analysis.pitch.errors import UnknownInstrumentKind
from analysis.pitch.sounding import Transposition
from analysis.pitch.written import WrittenPitch

Clef = Literal["treble", "bass"]


@dataclass(frozen=True, slots=True)
class InstrumentKind:
    """One member of the family in one notation.

    `lowest` is the lowest written note of the usual build and `extended_lowest` that of the build
    with an extension, where there is one. `ordinary_top` is the ordinary upper limit.
    `treble_shift_cents` is what to add to a written pitch to get the treble notation in which
    registers and fingerings are described: 1200 where bass clef is used, else 0.
    """

    id: str
    name: str
    transposition: Transposition
    lowest: WrittenPitch
    ordinary_top: WrittenPitch
    clef: Clef = "treble"
    aliases: tuple[str, ...] = ()
    extended_lowest: WrittenPitch | None = None
    treble_shift_cents: int = field(default=0, kw_only=True)

    def in_treble_notation(self, written: WrittenPitch) -> WrittenPitch:
        """Return the note as a treble-clef part for the same instrument would show it.

        >>> bass_clef = KINDS["b-flat-bass-bass-clef"]
        >>> bass_clef.in_treble_notation(WrittenPitch.from_canonical("Bb2")).canonical
        'Bb3'
        """
        octaves = self.treble_shift_cents // 1200
        return replace(written, octave=written.octave + octaves)

    def from_treble_notation(self, written: WrittenPitch) -> WrittenPitch:
        """Return the note of a treble-clef part as this notation writes it.

        >>> bass_clef = KINDS["b-flat-bass-bass-clef"]
        >>> bass_clef.from_treble_notation(WrittenPitch.from_canonical("Bb3")).canonical
        'Bb2'
        """
        octaves = self.treble_shift_cents // 1200
        return replace(written, octave=written.octave - octaves)


def _kind(
    kind_id: str,
    name: str,
    cents: int,
    *,
    lowest: str,
    extended: str | None = None,
    clef: Clef = "treble",
    shift_cents: int = 0,
    aliases: tuple[str, ...] = (),
) -> InstrumentKind:
    return InstrumentKind(
        id=kind_id,
        name=name,
        transposition=Transposition(cents),
        lowest=WrittenPitch.from_canonical(lowest),
        ordinary_top=WrittenPitch.from_canonical("G6" if clef == "treble" else "G5"),
        clef=clef,
        aliases=aliases,
        extended_lowest=WrittenPitch.from_canonical(extended) if extended else None,
        treble_shift_cents=shift_cents,
    )


_ROWS = (
    _kind(
        "e-flat-sopranino",
        "E-flat sopranino",
        300,
        lowest="E3",
        aliases=("sopranino", "e flat", "eb", "eb sopranino", "Es-Klarinette", "mi bémol"),
    ),
    _kind("d-soprano", "D soprano", 200, lowest="E3", aliases=("d", "D-Klarinette", "ré")),
    _kind("c-soprano", "C soprano", 0, lowest="E3", aliases=("c", "C-Klarinette", "ut", "do")),
    _kind(
        "b-flat-soprano",
        "B-flat soprano",
        -200,
        lowest="E3",
        aliases=("clarinet", "soprano", "b flat", "bb", "bb soprano", "B-Klarinette", "si bémol"),
    ),
    _kind("a-soprano", "A soprano", -300, lowest="E3", aliases=("a", "A-Klarinette", "la")),
    _kind(
        "a-basset-clarinet",
        "A basset clarinet",
        -300,
        lowest="C3",
        aliases=("basset", "Bassettklarinette", "clarinette de basset"),
    ),
    _kind(
        "f-basset-horn",
        "Basset horn in F",
        -700,
        lowest="C3",
        aliases=("basset horn", "f", "Bassetthorn", "cor de basset"),
    ),
    _kind(
        "e-flat-alto",
        "E-flat alto",
        -900,
        lowest="Eb3",
        aliases=("alto", "eb alto", "Altklarinette", "clarinette alto"),
    ),
    _kind(
        "b-flat-bass",
        "B-flat bass",
        -1400,
        lowest="Eb3",
        extended="C3",
        aliases=("bass", "bb bass", "french bass", "Bassklarinette", "clarinette basse"),
    ),
    _kind(
        "b-flat-bass-bass-clef",
        "B-flat bass, bass clef",
        -200,
        lowest="Eb2",
        extended="C2",
        clef="bass",
        shift_cents=1200,
        aliases=("bass bass clef", "bass in bass clef", "bb bass bass clef", "german bass"),
    ),
    _kind(
        "e-flat-contra-alto",
        "E-flat contra-alto",
        -2100,
        lowest="Eb3",
        extended="C3",
        aliases=("contra alto", "contraalto", "contralto", "eb contra alto"),
    ),
    _kind(
        "b-flat-contrabass",
        "B-flat contrabass",
        -2600,
        lowest="Eb3",
        extended="C3",
        aliases=("contrabass", "contra bass", "bb contrabass", "Kontrabassklarinette"),
    ),
)

KINDS: Mapping[str, InstrumentKind] = MappingProxyType({kind.id: kind for kind in _ROWS})

_SILENT_WORDS = frozenset({"clarinet", "klarinette", "clarinette", "in", "en", "the"})


def _normalise(text: str) -> str:
    spaced = text.casefold().replace("♭", " flat ")
    words = re.findall(r"\w+", spaced.replace("_", " "))
    return " ".join(word for word in words if word not in _SILENT_WORDS) or " ".join(words)


_BY_NAME: Mapping[str, InstrumentKind] = MappingProxyType(
    {_normalise(name): kind for kind in _ROWS for name in (kind.id, kind.name, *kind.aliases)}
)


def find_kind(text: str) -> InstrumentKind:
    """Find a member of the family by its id, its name or a usual short name.

    Case, hyphens and the word "clarinet" make no difference. Raises `UnknownInstrumentKind` with
    the list of what is accepted.

    >>> find_kind("Bb bass").id, find_kind("A clarinet").id
    ('b-flat-bass', 'a-soprano')
    """
    kind = _BY_NAME.get(_normalise(text))
    if kind is None:
        accepted = ", ".join(kind.name for kind in _ROWS)
        raise UnknownInstrumentKind(f"'{text}' is no clarinet known here. Use one of: {accepted}.")
    return kind
