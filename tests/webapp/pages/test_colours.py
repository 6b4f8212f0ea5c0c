"""The page of other colours: the player's own with their brightness, then what is predicted."""

from collections.abc import Sequence

import numpy as np
import pytest

import analysis.finder
from analysis.finder import ColourAlternative, Start
from analysis.finder.spots import Real
from analysis.keywork import KeyStates, parse_fingering
from analysis.pitch import WrittenPitch
from tests.webapp.browsing import Browser
from tests.webapp.finder_fakes import LAYOUT, FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.store.notebook import Notebook

# G5 sounds a whole tone lower on a B-flat soprano: F5, 800 cents above A4 (closed formula).
G5_HZ = 440 * 2 ** (800 / 1200)
G5 = "T R 123 | ---"


def colour(keys: str) -> ColourAlternative:
    """Describe a predicted fingering."""
    base = Start(WrittenPitch.from_canonical("G5"), parse_fingering(G5, LAYOUT), "ordinary")
    return ColourAlternative(
        fingering=parse_fingering(keys, LAYOUT),
        base=base,
        changes_words="adds right F key (closes)",
        offset_cents=-2.0,
        sigma_cents=6.0,
        chance=0.8,
        lip_chance=0.9,
        ease=1.0,
        colour_db=3.0,
    )


@pytest.fixture
def stated(monkeypatch: pytest.MonkeyPatch, fake_finder: FakeFinder) -> None:
    """A finder that states one other colour, and how far each known one differs."""
    del fake_finder

    def measure(*arguments: Sequence[KeyStates]) -> Real:
        return np.arange(9.0, 9.0 + len(arguments[3]))

    monkeypatch.setattr(
        analysis.finder, "find_colours", lambda *_, **__: (colour("T R 123 | --- | right F"),)
    )
    monkeypatch.setattr(analysis.finder, "find_colour_distances", measure)


@pytest.mark.usefixtures("stated")
def test_own_colours_come_with_their_brightness_before_what_is_predicted(
    notebook: Notebook, client: Browser, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    usual = log(notebook, instrument, "G5", G5, resistance=1)
    other = log(notebook, instrument, "G5", "T R 123 | 1-3 | C#/G#", resistance=4)
    take_maker(notebook, usual, G5_HZ, more={"brightness_partials": 3.0})
    take_maker(notebook, other, G5_HZ * 2 ** (4 / 1200), more={"brightness_partials": 2.4})
    page = client.get(f"/instruments/{instrument}/colours?q=G5")
    assert page.status == 200
    text = " ".join(page.text.split())
    assert "Brightness 3.0 partials, 1 take." in text
    assert "Very different, 9 dB predicted" in text
    assert "Brightness 2.4 partials, 1 take: 0.6 duller than the usual one." in text
    assert "A little different, 3 dB" in text
    assert text.index("Yours") < text.index("To try")


@pytest.mark.usefixtures("stated")
def test_a_note_without_a_fingering_has_nothing_to_differ_from(
    notebook: Notebook, client: Browser
) -> None:
    instrument = add_clarinet(notebook)
    page = client.get(f"/instruments/{instrument}/colours?q=G5-50c")
    assert page.status == 200
    assert "nothing can be said to differ from it" in page.text


def test_without_a_note_there_is_the_form_and_nonsense_is_refused(
    notebook: Notebook, client: Browser
) -> None:
    instrument = add_clarinet(notebook)
    assert client.get(f"/instruments/{instrument}/colours").status == 200
    assert client.get(f"/instruments/{instrument}/colours?q=nonsense").status == 422
