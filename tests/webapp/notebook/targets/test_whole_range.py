"""The whole range: the player's own ordinary fingerings, what is to try above, the range's ends.

That a B-flat soprano is ordinary from E3 to G6 and that nothing above is: common practice, from
memory.
"""

import pytest

from analysis.finder import PlayerModel
from analysis.finder.candidates import choose_starts
from analysis.keywork import format_fingering
from analysis.pitch import WrittenPitch
from tests.webapp.logging_rows import ENGLISH, add_clarinet, clarinet, log
from tests.webapp.notebook.targets.ranging import look
from webapp.notebook.finder.finder_evidence import collect_evidence
from webapp.notebook.fingerings.base_choices import offer_bases
from webapp.notebook.instruments.instruments import (
    add_instrument,
    change_instrument,
    open_instrument,
)
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.bases import StartingPoint, neighbour_bases, own_ordinary
from webapp.notebook.targets.choices import WordDraft, say_word
from webapp.notebook.targets.range import StepState
from webapp.notebook.targets.search import SearchQuery, SearchResult, search_target

OWN_D5 = "T R 123 | 123 | right cross"
HIGH_A = "T R -23 | -2- | right cross"


def find(notebook: Notebook, instrument: int, text: str) -> SearchResult:
    query = SearchQuery(text=text, instrument_id=instrument)
    return search_target(notebook, query, names=ENGLISH)


def near(notebook: Notebook, instrument_id: int, note: str) -> list[str | None]:
    """The references of the ordinary fingerings on both sides of a note."""
    instrument = open_instrument(notebook, instrument_id)
    with notebook.database.reading() as session:
        own = own_ordinary(session, instrument)
    around = neighbour_bases(instrument, WrittenPitch.from_canonical(note), own)
    return [each.reference if each else None for each in around]


def test_a_fingering_that_is_mine_for_an_ordinary_note_stands_in_place_of_ours(
    notebook: Notebook, soprano: int
) -> None:
    mine = log(notebook, soprano, "D5", OWN_D5)
    assert near(notebook, soprano, "D5-50c") == ["ordinary:C#5:1", "ordinary:D5:1"]

    say_word(notebook, mine, WordDraft(Role.MINE))
    assert near(notebook, soprano, "D5-50c") == ["ordinary:C#5:1", f"logged:{mine}"]

    instrument = open_instrument(notebook, soprano)
    with notebook.database.reading() as session:
        evidence = collect_evidence(session, instrument)
        groups = {group.name: group.bases for group in offer_bases(session, instrument)}
    model = PlayerModel.fit("b-flat-soprano", instrument.layout, [])
    starts = choose_starts(model.tube, evidence.starts, WrittenPitch.from_canonical("D5-50c"))
    of_d = [format_fingering(one.fingering) for one in starts if one.written.canonical == "D5"]
    assert of_d == [OWN_D5]
    assert [base.fingering_id for base in groups["Your ordinary ones"]] == [mine]
    assert [base.reference for base in groups["Ordinary, where you have your own"]] == [
        "ordinary:D5:1"
    ]
    assert "ordinary:D5:1" not in [base.reference for base in groups["Ordinary, clarion"]]

    put_in_bin(notebook, "fingering", mine)
    assert near(notebook, soprano, "D5-50c") == ["ordinary:C#5:1", "ordinary:D5:1"]


def test_only_what_is_always_mine_for_a_note_of_the_scale_replaces_ours(
    notebook: Notebook, soprano: int
) -> None:
    between = log(notebook, soprano, "D5 -50", OWN_D5)
    for_trills = log(notebook, soprano, "D5", OWN_D5)
    say_word(notebook, between, WordDraft(Role.MINE))
    say_word(notebook, for_trills, WordDraft(Role.MINE, circumstance=Circumstance.TRILL))
    instrument = open_instrument(notebook, soprano)
    with notebook.database.reading() as session:
        assert own_ordinary(session, instrument) == {}


def test_above_what_is_known_there_is_what_to_try_and_the_nearest_known(
    notebook: Notebook, soprano: int
) -> None:
    assert find(notebook, soprano, "F6").to_try == ()
    assert find(notebook, soprano, "G6").to_try == ()
    for text, first in (("G#6", "G#6"), ("A6 +50", "A6"), ("C7", "C7"), ("E7", "C7")):
        found = find(notebook, soprano, text)
        assert found.neighbour_below is not None
        assert found.neighbour_below.written.canonical == "G6"
        assert (found.neighbour_above, found.to_try[0].written.canonical) == (None, first)
        assert all(base.is_to_try for base in found.to_try)

    own = log(notebook, soprano, "A6", HIGH_A)
    say_word(notebook, own, WordDraft(Role.MINE))
    found = find(notebook, soprano, "C7")
    assert found.neighbour_below is not None
    assert found.neighbour_below.fingering_id == own
    assert {base.written.canonical for base in found.to_try} <= {"B6", "C7"}


def test_the_large_clarinets_and_the_german_system_have_their_top_to_try(
    notebook: Notebook,
) -> None:
    bass = add_clarinet(notebook, "bass", kind_id="b-flat-bass", layout_id="bass-low-eb")
    german = add_clarinet(notebook, "german", layout_id="soprano-german")
    for instrument_id, highest, note in ((bass, "Eb6", "F6"), (german, "C6", "E6")):
        found = find(notebook, instrument_id, note)
        assert found.neighbour_below is not None
        assert found.neighbour_below.written.canonical == highest
        assert found.to_try[0].written.canonical == note
        whole = look(notebook, instrument_id, 12)
        ordinary = [each.written for each in whole.steps if each.state is StepState.ORDINARY]
        assert ordinary[-1].canonical == highest


@pytest.mark.parametrize("text", ["Eb3", "C3", "100 Hz"])
def test_a_note_below_the_range_is_refused_with_the_range(
    notebook: Notebook, soprano: int, text: str
) -> None:
    with pytest.raises(FieldRefused, match=r"below the range of .*written E3 to G6\.") as caught:
        find(notebook, soprano, text)
    assert caught.value.field == "q"
    with pytest.raises(FieldRefused, match="written E3 to G6"):
        log(notebook, soprano, text, OWN_D5)
    find(notebook, soprano, "E3 -50")  # the lip may bring it there


def test_the_top_of_the_range_is_the_players_to_set(notebook: Notebook, soprano: int) -> None:
    def change(top: str) -> None:
        version = open_instrument(notebook, soprano).version
        change_instrument(notebook, soprano, clarinet(highest=top), seen_version=version)

    change("C7")
    assert look(notebook, soprano, 12).steps[-1].written.canonical == "C7"
    change("C6")
    assert look(notebook, soprano, 12).steps[-1].written.canonical == "C6"
    change("")
    assert open_instrument(notebook, soprano).highest_text is None
    assert look(notebook, soprano, 12).steps[-1].written.canonical == "G6"
    for wrong in ("E3", "C#7", "Q"):
        with pytest.raises(FieldRefused) as caught:
            change(wrong)
        assert caught.value.field == "highest"


def test_a_bass_clef_part_has_its_top_an_octave_lower(notebook: Notebook) -> None:
    # The bass in bass clef is written an octave lower than in treble clef (common practice).
    facts = {"kind_id": "b-flat-bass-bass-clef", "layout_id": "bass-low-eb"}
    bass = add_instrument(notebook, clarinet("bass", highest="C6", **facts))
    instrument = open_instrument(notebook, bass)
    assert (instrument.lowest.canonical, instrument.top.canonical) == ("Eb2", "C6")
    with pytest.raises(FieldRefused, match="goes up to C6"):
        add_instrument(notebook, clarinet("bass", highest="D6", **facts))
    found = find(notebook, bass, "F5").to_try[0]
    assert isinstance(found, StartingPoint)
    assert found.written.canonical == "F5"
