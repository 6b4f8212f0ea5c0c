"""Fingerings: targets, bases, lineage, edits.

Pitches by closed formula: a quarter tone is 50 cents; 5:4 is 1200 log2(5/4) = 386.314 cents;
f Hz lies 1200 log2(f / A) cents above A4.
"""

import math
from typing import Any

import pytest

from analysis.finder import Strategy
from analysis.pitch import NoteNames
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, clarinet, draft, log
from tests.webapp.snapshots import counted_queries
from webapp.notebook.fingerings.base_choices import BaseGroup, offer_bases
from webapp.notebook.fingerings.fingerings import (
    change_fingering,
    log_fingering,
    open_fingering,
    target_words,
)
from webapp.notebook.instruments.instruments import change_instrument, open_instrument
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, StaleEdit
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.targets.bases import (
    StartingPoint,
    kept_base,
    neighbour_bases,
    open_base,
    reference_of,
)
from webapp.notebook.targets.reading import read_target

KEYS = "T R 123 | 12-"


def list_offered(
    notebook: Notebook, instrument: Instrument, kept: StartingPoint | None = None
) -> tuple[BaseGroup, ...]:
    """What the player can start from."""
    with notebook.database.reading() as session:
        return offer_bases(session, instrument, kept)


def shown(notebook: Notebook, fingering: int) -> Fingering:
    """Open a fingering."""
    return open_fingering(notebook, fingering).fingering


def change(notebook: Notebook, fingering: int, seen_version: int, **changes: Any) -> None:
    """Change a fingering from its text form."""
    target = str(changes.pop("target", "D5 -50"))
    keys = str(changes.pop("keys", KEYS))
    wanted = draft(target, keys, **changes)
    change_fingering(notebook, fingering, wanted, seen_version=seen_version, names=ENGLISH)


TARGETS = (
    ("D quarter-flat 5", 7350.0),
    ("Dqf5", 7350.0),
    ("D5 -50", 7350.0),
    ("D5 −50 c", 7350.0),
    ("C#5+50c", 7350.0),
    ("quarter tone above C#5", 7350.0),
    ("50 cents above C#5", 7350.0),
    ("Db5", 7300.0),
    ("D♭5", 7300.0),
    ("C sharp 5", 7300.0),
    ("D5 -12.5", 7387.5),
    ("a major third above F4", 6500 + 1200 * math.log2(5 / 4)),
    ("5:4 above F4", 6500 + 1200 * math.log2(5 / 4)),
    # Sounding; a B-flat soprano writes it 200 cents higher.
    ("440 Hz", 7100.0),
    ("523.25 Hz", 7100 + 1200 * math.log2(523.25 / 440)),
)


@pytest.mark.parametrize(("text", "written_cents"), TARGETS)
def test_a_target_may_be_typed_in_every_form(
    notebook: Notebook, soprano: int, text: str, written_cents: float
) -> None:
    row = shown(notebook, log(notebook, soprano, text, KEYS))
    # Just intervals and frequencies are kept to a thousandth of a cent.
    assert row.written_cents == pytest.approx(written_cents, abs=0.001)
    assert row.target_cents == pytest.approx(written_cents - 200, abs=0.001)
    assert row.sounding_cents == row.target_cents
    assert row.target_typed == text


@pytest.mark.parametrize(
    ("text", "names", "written_cents"),
    [
        ("B4", NoteNames.GERMAN, 7000.0),  # German B is B flat
        ("H4", NoteNames.GERMAN, 7100.0),
        ("B4", NoteNames.ENGLISH, 7100.0),
        ("Des5", NoteNames.GERMAN, 7300.0),
        ("ré bémol 5", NoteNames.ROMANCE, 7300.0),
    ],
)
def test_note_names_are_read_as_the_player_writes_them(
    notebook: Notebook, soprano: int, text: str, names: NoteNames, written_cents: float
) -> None:
    row = shown(notebook, log_fingering(notebook, soprano, draft(text, KEYS), names=names))
    assert row.written_cents == written_cents


def test_a_target_with_several_meanings_is_asked_back(notebook: Notebook, soprano: int) -> None:
    with pytest.raises(FieldRefused, match=r"Which is meant: D4, D5 or D6\?$") as caught:
        log(notebook, soprano, "D", KEYS)
    assert caught.value.field == "target"


@pytest.mark.parametrize(
    "text", ["", "  ", "X5", "D5 -", "H4", "1e9 Hz", "-1 Hz", "D99", "D5" * 50]
)
def test_a_target_that_cannot_be_read_is_refused(
    notebook: Notebook, soprano: int, text: str
) -> None:
    with pytest.raises(FieldRefused) as caught:
        log(notebook, soprano, text, KEYS)
    assert caught.value.field == "target"
    with pytest.raises(NotInNotebook):
        open_fingering(notebook, 1)


def test_what_the_hands_cannot_do_is_named(notebook: Notebook, soprano: int) -> None:
    with pytest.raises(FieldRefused, match="left first finger") as caught:
        log(notebook, soprano, "D5 -50", "T R 123 | --- | throat A")
    assert caught.value.field == "keys"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"resistance": 0}, "resistance"),
        ({"resistance": 6}, "resistance"),
        ({"tags": tuple(f"tag {number}" for number in range(21))}, "tags"),
        ({"tags": ("x" * 61,)}, "tags"),
        ({"base": "logged:99"}, "base"),
        ({"base": "logged:abc"}, "base"),
        ({"base": "logged:99999999999999999999"}, "base"),
        ({"base": "ordinary:D5-50c:1"}, "base"),
        ({"base": "something"}, "base"),
        ({"base": "kept"}, "base"),
    ],
)
def test_what_cannot_be_kept_names_its_field(
    notebook: Notebook, soprano: int, changes: dict[str, object], field: str
) -> None:
    with pytest.raises(FieldRefused) as caught:
        log(notebook, soprano, "D5 -50", KEYS, **changes)
    assert caught.value.field == field


def test_tags_are_trimmed_sorted_and_kept_once(notebook: Notebook, soprano: int) -> None:
    fingering = log(notebook, soprano, "D5 -50", KEYS, tags=(" soft ", "", "high", "soft", "  "))
    assert shown(notebook, fingering).tags == ("high", "soft")
    change(notebook, fingering, 1, tags=("soft", "new"))
    assert shown(notebook, fingering).tags == ("new", "soft")
    change(notebook, fingering, 2)
    assert shown(notebook, fingering).tags == ()


@pytest.mark.parametrize(("keys", "has_half_hole"), [("T R 1(2)3 | 12-", True), (KEYS, False)])
def test_a_half_hole_is_noted(
    notebook: Notebook, soprano: int, keys: str, has_half_hole: bool
) -> None:
    assert shown(notebook, log(notebook, soprano, "D5 -50", keys)).has_half_hole is has_half_hole


def test_an_ordinary_base_is_kept_with_its_keys(notebook: Notebook, soprano: int) -> None:
    row = shown(notebook, log(notebook, soprano, "D5 -50", KEYS, base="ordinary:C#5:1"))
    # Written C#5: all holes closed and the left F#/C# key (common practice, from memory).
    assert row.base_keys_text == "T R 123 | 123 | left F#"
    assert row.base_written is not None
    assert row.base_written.canonical == "C#5"
    assert reference_of(row) == "ordinary:C#5:1"


def test_the_line_of_a_fingering_can_be_followed_both_ways(
    notebook: Notebook, soprano: int
) -> None:
    first = log(notebook, soprano, "D5 -50", KEYS, base="ordinary:D5:1")
    second = log(notebook, soprano, "D5 -40", "T R 123 | 1--", base=f"logged:{first}")
    third = log(notebook, soprano, "D5 -30", "T R 123 | ---", base=f"logged:{second}")
    page = open_fingering(notebook, third)
    assert [row.id for row in page.ancestors] == [second, first]
    assert page.derived == ()
    assert page.fingering.base_keys_text == "T R 123 | 1--"
    assert [row.id for row in open_fingering(notebook, first).derived] == [second]


def test_a_fingering_comes_neither_from_itself_nor_from_its_own_descent(
    notebook: Notebook, soprano: int
) -> None:
    first = log(notebook, soprano, "D5 -50", KEYS)
    second = log(notebook, soprano, "D5 -40", KEYS, base=f"logged:{first}")
    third = log(notebook, soprano, "D5 -30", KEYS, base=f"logged:{second}")
    for descendant in (first, second, third):
        with pytest.raises(FieldRefused, match="cannot come from itself") as caught:
            change(notebook, first, 1, base=f"logged:{descendant}")
        assert caught.value.field == "base"


def test_a_base_of_another_instrument_is_refused(notebook: Notebook, soprano: int) -> None:
    other = log(notebook, add_clarinet(notebook, "other"), "D5 -50", KEYS)
    with pytest.raises(FieldRefused, match="is not there on this instrument"):
        log(notebook, soprano, "D5 -50", KEYS, base=f"logged:{other}")


def test_a_fingering_keeps_its_base_as_it_was(notebook: Notebook, soprano: int) -> None:
    base = log(notebook, soprano, "D5 -50", KEYS)
    child = log(notebook, soprano, "D5 -40", "T R 123 | 1--", base=f"logged:{base}")
    change(notebook, base, 1, keys="T R 1-- | ---")
    change(notebook, child, 1, keys="T R 123 | 1--", base=f"logged:{base}", notes="edited")
    assert shown(notebook, child).base_keys_text == KEYS


def test_a_fingering_keeps_a_base_that_was_removed_for_good(
    notebook: Notebook, soprano: int
) -> None:
    base = log(notebook, soprano, "D5 -50", "T R 1-3 | 12-")
    child = log(notebook, soprano, "D5 -40", "T R 123 | 1--", base=f"logged:{base}")
    put_in_bin(notebook, "fingering", base)
    row = shown(notebook, child)
    offered = [
        each.reference
        for group in list_offered(notebook, row.instrument, kept_base(row))
        for each in group.bases
    ]
    assert f"logged:{base}" in offered, "a form must be able to send it back"
    empty_bin(notebook)
    row = shown(notebook, child)
    assert row.base_id is None
    assert reference_of(row) == "kept"
    change(notebook, child, 1, keys="T R 123 | 1--", base="kept", notes="edited")
    assert shown(notebook, child).base_keys_text == "T R 1-3 | 12-"
    change(notebook, child, 2, keys="T R 123 | 1--", base="")
    assert shown(notebook, child).base_keys_text is None


def test_another_target_compares_the_takes_anew(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, soprano, "D5 -50", KEYS)
    take_maker(notebook, fingering, 440 * 2 ** (255 / 1200))  # sounds 7155: 5 above its target
    assert shown(notebook, fingering).offset_cents == pytest.approx(5)
    change(notebook, fingering, 1, target="D5 -40")
    row = shown(notebook, fingering)
    assert row.offset_cents == pytest.approx(-5)
    assert row.sounding_cents == pytest.approx(7155)
    assert row.target_cents == 7160


def test_a_stale_edit_is_refused_and_overwrites_nothing(notebook: Notebook, soprano: int) -> None:
    fingering = log(notebook, soprano, "D5 -50", KEYS)
    change(notebook, fingering, 1, notes="newer")
    with pytest.raises(StaleEdit):
        change(notebook, fingering, 1, notes="older")
    assert shown(notebook, fingering).notes == "newer"


def test_a_take_that_arrives_meanwhile_does_not_make_an_edit_stale(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, soprano, "D5 -50", KEYS)
    take_maker(notebook, fingering, 500.0)
    change(notebook, fingering, 1, notes="typed while the take was measured")
    row = shown(notebook, fingering)
    assert (row.version, row.take_count) == (2, 1)


def test_what_was_typed_is_shown_again_while_it_means_the_same(
    notebook: Notebook, soprano: int
) -> None:
    german = log_fingering(notebook, soprano, draft("B4", KEYS), names=NoteNames.GERMAN)
    in_hz = log(notebook, soprano, "500 Hz", KEYS)
    assert target_words(shown(notebook, german), NoteNames.GERMAN) == "B4"
    assert target_words(shown(notebook, in_hz), ENGLISH) == "500 Hz"
    # Read with English names, B4 would be another note; it is written so that it is not.
    anew = target_words(shown(notebook, german), ENGLISH)
    instrument = open_instrument(notebook, soprano)
    assert read_target(anew, instrument, ENGLISH).cents == 7000
    # At another tuning A, 500 Hz would be another note.
    change_instrument(notebook, soprano, clarinet(tuning_a_hz=442.0), seen_version=1)
    row = shown(notebook, in_hz)
    again = target_words(row, ENGLISH)
    assert again != "500 Hz"
    assert read_target(again, row.instrument, ENGLISH) == row.written


def test_ordinary_bases_stand_by_register_and_logged_ones_after_them(
    notebook: Notebook, soprano: int
) -> None:
    instrument = open_instrument(notebook, soprano)
    names = [group.name for group in list_offered(notebook, instrument)]
    assert names == [
        *(f"Ordinary, {register}" for register in ("chalumeau", "throat", "clarion", "altissimo")),
        "To try, from memory",
    ]
    log(notebook, soprano, "D5 -50", KEYS)
    assert [group.name for group in list_offered(notebook, instrument)] == [
        *names,
        "In this notebook",
    ]


def test_every_base_that_is_offered_can_be_opened_by_its_reference(
    notebook: Notebook, soprano: int
) -> None:
    log(notebook, soprano, "D5 -50", KEYS)
    instrument = open_instrument(notebook, soprano)
    for group in list_offered(notebook, instrument):
        for base in group.bases:
            again = open_base(notebook, instrument, base.reference)
            assert again is not None
            assert (again.keys, again.written) == (base.keys, base.written)
    assert open_base(notebook, instrument, "") is None


def test_a_bass_clef_part_has_its_bases_an_octave_lower(notebook: Notebook) -> None:
    # The bass in bass clef is written an octave lower than in treble clef (common practice).
    bass = add_clarinet(notebook, kind_id="b-flat-bass-bass-clef", layout_id="bass-low-eb")
    instrument = open_instrument(notebook, bass)
    below, above = neighbour_bases(instrument, read_target("D4 -50", instrument, ENGLISH), {})
    assert below is not None
    assert above is not None
    assert (below.written.canonical, above.written.canonical) == ("C#4", "D4")
    assert open_base(notebook, instrument, below.reference) is not None


def test_opening_takes_as_many_queries_for_a_long_line_and_many_takes(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, soprano, "D5 -50", KEYS, strategy=Strategy.FOUND)
    with counted_queries(notebook) as few:
        open_fingering(notebook, fingering)
    for _ in range(8):
        fingering = log(notebook, soprano, "D5 -50", KEYS, base=f"logged:{fingering}", tags=("a",))
        log(notebook, soprano, "D5 -50", KEYS, base=f"logged:{fingering}")
        take_maker(notebook, fingering, 500.0)
    for _ in range(5):
        take_maker(notebook, fingering, 500.0)
    with counted_queries(notebook) as many:
        page = open_fingering(notebook, fingering)
    assert len(page.ancestors) == 8
    assert len(page.takes) == 6
    # One more than before: the measurements of the takes, all at once.
    assert len(many) <= len(few) + 2  # the takes, and the details of the newest
