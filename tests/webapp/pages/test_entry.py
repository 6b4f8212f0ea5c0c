"""Comparisons on the page of a fingering: base, notes nearby, dynamics."""

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.store.notebook import Notebook

BASE = ("F#5", "T R 123 | -2-")
DERIVED = ("G5 -50", "T R 123 | -2- | right cross")
USUAL = {"brightness_partials": 2.0, "breath_noise_db": -45.0}


@pytest.fixture(name="rows")
def _rows(notebook: Notebook, take_maker: TakeMaker) -> tuple[int, int]:
    """A base and what was derived from it, each with takes; A4 = 440 Hz on a B-flat soprano."""
    soprano = add_clarinet(notebook)
    base = log(notebook, soprano, *BASE)
    derived = log(notebook, soprano, *DERIVED, base=f"logged:{base}")
    f_sharp_hz = 440 * 2 ** (7 / 12)  # written F#5 sounds E5, seven semitones above A4
    for _ in range(2):
        take_maker(notebook, base, f_sharp_hz, more=USUAL)
    for dynamic, cents in (("pp", 60.0), ("pp", 61.0), ("ff", 30.0)):
        f0_hz = f_sharp_hz * 2 ** (cents / 1200)
        brighter = USUAL | {"brightness_partials": 2.8}
        take_maker(notebook, derived, f0_hz, more=brighter, dynamic=dynamic)
    return base, derived


def test_the_shift_from_the_base_as_it_is_played_stands_beside_the_offset(
    client: Browser, rows: tuple[int, int]
) -> None:
    base, derived = rows
    page = client.get(f"/fingerings/{derived}")
    assert "from F sharp 5 as you play it (2 takes)." in page.text
    assert page.find("a", href=f"/fingerings/{base}")
    assert "as you play it" not in client.get(f"/fingerings/{base}").text


def test_its_colour_is_set_against_the_ordinary_notes_nearby(
    client: Browser, rows: tuple[int, int]
) -> None:
    page = client.get(f"/fingerings/{rows[1]}")
    assert "2.8 partials: brighter than your note nearby by 0.8 partials (1 note)." in page.text
    assert "−45 dB: as clean as your note nearby (1 note)." in page.text
    assert len(page.find("svg", class_="evenness")) == 2


def test_where_the_dynamic_moves_the_pitch_the_page_says_so(
    client: Browser, rows: tuple[int, int]
) -> None:
    text = client.get(f"/fingerings/{rows[1]}").text
    assert "Played ff it sounds 30.5 ±" in text and "cents lower than pp." in text


def test_without_ordinary_notes_nearby_the_page_asks_for_some(
    client: Browser, rows: tuple[int, int]
) -> None:
    page = client.get(f"/fingerings/{rows[0]}")
    assert "No ordinary notes nearby measured yet: record some." in page.text
    assert "2.0 partials." in page.text
    assert not page.find("svg", class_="evenness")
