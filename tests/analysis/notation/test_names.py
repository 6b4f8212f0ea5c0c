"""Names of clarinets in five languages. Transpositions are common practice, from memory."""

from __future__ import annotations

import pytest

from analysis.notation.instrument_names import (
    find_transpositions,
    is_clarinet,
    names_two_players,
)


@pytest.mark.parametrize(
    ("name", "cents"),
    [
        ("Clarinet in B♭", (-200,)),
        ("B♭ Clarinet 2", (-200,)),
        ("Bb Cl.", (-200,)),
        ("Klarinette in B", (-200,)),
        ("B-Klarinette", (-200,)),
        ("Clarinette en si bémol", (-200,)),
        ("Clarinetto in Sib", (-200,)),
        ("Clarinete en si♭", (-200,)),
        ("wind.reed.clarinet.bflat", (-200,)),
        ("Clarinet in A", (-300,)),
        ("A-Klarinette", (-300,)),
        ("Clarinette en la", (-300,)),
        ("wind.reed.clarinet.a", (-300,)),
        ("E♭ Clarinet", (300,)),
        ("Es-Klarinette", (300,)),
        ("Piccolo Clarinet", (300,)),
        ("Clarinet in D", (200,)),
        ("Clarinet in C", (0,)),
        ("Bass Clarinet", (-1400, -200)),
        ("Bassklarinette in B", (-1400, -200)),
        ("Clarinette basse", (-1400, -200)),
        ("Clarinetto basso", (-1400, -200)),
        ("wind.reed.clarinet.bass", (-1400, -200)),
        ("Contrabass Clarinet", (-2600,)),
        ("Contra-alto Clarinet", (-2100,)),
        ("Alto Clarinet in Eb", (-900,)),
        ("Basset Horn", (-700,)),
        ("Bassetthorn", (-700,)),
        ("Basset Clarinet in A", (-300,)),
        ("Clarinet", ()),
        ("Clarinet 1", ()),
        ("Bassoon", ()),
        ("Clavier in C", ()),
    ],
)
def test_a_name_means_its_transpositions(name: str, cents: tuple[int, ...]) -> None:
    assert find_transpositions([name]) == cents


@pytest.mark.parametrize("name", ["Violin", "Clavecin", "Contrabass", "Alto Saxophone", "", "Bass"])
def test_other_instruments_are_no_clarinets(name: str) -> None:
    assert not is_clarinet([name])


@pytest.mark.parametrize(
    ("name", "is_two"),
    [
        ("Clarinets 1 & 2", True),
        ("Clarinets 1.2 in B", True),
        ("Klarinette I, II", True),
        ("Clarinet a2", True),
        ("Clarinets in A", True),
        ("Klarinetten in B", True),
        ("Clarinet 2", False),
        ("Clarinet II", False),
        ("Clarinet in A", False),
    ],
)
def test_two_players_are_seen(name: str, is_two: bool) -> None:
    assert names_two_players([name]) is is_two
