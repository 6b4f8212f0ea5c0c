"""The first day asks for ordinary notes and cross-fingerings, and says what they gained."""

import pytest

from analysis.keywork import format_fingering
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.finder.calibrating import choose_notes, open_calibration
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache


def test_the_notes_are_in_the_notation_of_the_instrument(notebook: Notebook) -> None:
    # common practice, from memory: the bass clef of a bass is written an octave lower
    asked = [
        choose_notes(open_instrument(notebook, number))
        for number in (
            add_clarinet(notebook, kind_id=kind_id, layout_id="bass-low-eb")
            for kind_id in ("b-flat-bass", "b-flat-bass-bass-clef")
        )
    ]
    assert [note.keys for note in asked[0]] == [note.keys for note in asked[1]]
    assert {a.written.cents - b.written.cents for a, b in zip(*asked, strict=True)} == {1200}


def test_cross_fingerings_stand_last_in_a_group_of_their_own(notebook: Notebook) -> None:
    groups = open_calibration(notebook, ResultCache(), add_clarinet(notebook)).groups
    crossed = [name for name, notes in groups if any(note.is_cross for note in notes)]
    assert crossed == [groups[-1][0]] == ["Cross-fingerings"]
    assert all(note.is_cross for note in groups[-1][1])


@pytest.mark.parametrize(("written", "counts"), [("E5-50c", True), ("E5", True), ("G5", False)])
def test_a_cross_fingering_counts_for_whatever_note_near_it_was_logged(
    notebook: Notebook, written: str, counts: bool
) -> None:
    instrument = add_clarinet(notebook)
    log(notebook, instrument, written, "T R 123 | 12- | right E")
    _, crossed = open_calibration(notebook, ResultCache(), instrument).groups[-1]
    assert (crossed[0].fingering is not None) == counts


def test_nothing_is_computed_before_a_note_is_measured(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    page = open_calibration(notebook, ResultCache(), add_clarinet(notebook))
    assert (page.measured_count, page.gain) == (0, None)
    assert page.asked_count == sum(len(notes) for _, notes in page.groups)
    assert fake_finder.fits == []


def test_a_measured_note_counts_and_the_gain_is_told(
    notebook: Notebook, fake_finder: FakeFinder, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    result_cache = ResultCache()
    _, notes = open_calibration(notebook, result_cache, instrument).groups[0]
    base = notes[0].base
    sounding = open_instrument(notebook, instrument).transposition.to_sounding(base.written)
    entry = log(notebook, instrument, base.written.canonical, format_fingering(base.keys))
    page = open_calibration(notebook, result_cache, instrument)
    assert page.groups[0][1][0].fingering is not None
    assert page.measured_count == 0
    take_maker(notebook, entry, 440 * 2 ** ((sounding.cents - 6900 + 4) / 1200))
    while (page := open_calibration(notebook, result_cache, instrument)).working is not None:
        assert page.measured_count == 1, "the notes do not wait for the gain"
    assert page.measured_count == 1
    assert page.gain is not None
    assert page.gain.words == "From 12 to 5 cents, says the fake."
    assert len(fake_finder.fits[-1]) == 1


def test_a_strange_instrument_is_refused(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        open_calibration(notebook, ResultCache(), 99)
