"""The first day asks for about ten ordinary notes and says what they gained."""

from collections.abc import Sequence

import pytest

from analysis.keywork import format_fingering, layout_ids, load_layout
from analysis.pitch import WrittenPitch, register_of
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.errors import NotInNotebook
from webapp.models import Instrument
from webapp.notebook import Notebook
from webapp.services.bases import ordinary_bases
from webapp.services.calibrating import choose_notes, open_calibration
from webapp.services.instruments import open_instrument
from webapp.workshop import Workshop


@pytest.mark.parametrize("layout_id", layout_ids())
def test_about_ten_notes_are_asked_for_with_some_in_every_register(
    notebook: Notebook, layout_id: str
) -> None:
    kind_id = sorted(load_layout(layout_id).kinds)[0]
    number = add_clarinet(notebook, kind_id=kind_id, layout_id=layout_id)
    instrument = open_instrument(notebook, number)
    notes = choose_notes(instrument)
    assert 8 <= len(notes) <= 13
    assert len({note.written for note in notes}) == len(notes)
    assert _registers(instrument, [note.written for note in notes]) == _registers(
        instrument, [base.written for base in ordinary_bases(instrument)]
    )


def _registers(instrument: Instrument, written: Sequence[WrittenPitch]) -> set[str]:
    return {register_of(instrument.kind.in_treble_notation(each)).value for each in written}


def test_nothing_is_computed_before_a_note_is_measured(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    page = open_calibration(notebook, Workshop(), add_clarinet(notebook))
    assert (page.measured_count, page.gain) == (0, None)
    assert page.asked_count == sum(len(notes) for _, notes in page.groups)
    assert fake_finder.fits == []


def test_a_measured_note_counts_and_the_gain_is_told(
    notebook: Notebook, fake_finder: FakeFinder, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    workshop = Workshop()
    _, notes = open_calibration(notebook, workshop, instrument).groups[0]
    base = notes[0].base
    sounding = open_instrument(notebook, instrument).transposition.to_sounding(base.written)
    entry = log(notebook, instrument, base.written.canonical, format_fingering(base.keys))
    page = open_calibration(notebook, workshop, instrument)
    assert page.groups[0][1][0].fingering is not None
    assert page.measured_count == 0
    take_maker(notebook, entry, 440 * 2 ** ((sounding.cents - 6900 + 4) / 1200))
    page = open_calibration(notebook, workshop, instrument)
    assert page.measured_count == 1
    assert page.gain is not None
    assert page.gain.words == "From 12 to 5 cents, says the fake."
    assert len(fake_finder.fits[-1]) == 1


def test_a_strange_instrument_is_refused(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        open_calibration(notebook, Workshop(), 99)
