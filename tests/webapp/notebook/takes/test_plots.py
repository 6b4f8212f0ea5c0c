"""Note names beside a picture of levels. B-flat bass sounds 1400 cents lower than written."""

import pytest

from analysis.pitch import NoteNames, Transposition, Tuning
from analysis.recording.spectrogram import View
from webapp.notebook.takes.plots import list_notes
from webapp.presenting.plot_view import HIGHEST_HZ, LOWEST_HZ


@pytest.mark.parametrize("transposition_cents", [300, 0, -200, -1400, -2600])
def test_every_instrument_names_notes_over_the_whole_view(transposition_cents: int) -> None:
    view = View(0.0, 1.0, LOWEST_HZ, HIGHEST_HZ)
    ticks = list_notes(view, Transposition(transposition_cents), Tuning(440.0), NoteNames.ENGLISH)
    assert 3 <= len(ticks) <= 9
    assert all(LOWEST_HZ <= tick.freq_hz <= HIGHEST_HZ for tick in ticks)
    assert [tick.name[0] for tick in ticks] == ["C"] * len(ticks)
