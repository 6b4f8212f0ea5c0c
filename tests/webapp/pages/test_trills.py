"""The page of trills: pairs with what is known of each end, and its refusals."""

from functools import partial

import pytest

from tests.webapp import exact_finder
from tests.webapp.browsing import Browser
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.finder.trills import open_trill
from webapp.notebook.store.notebook import Notebook
from webapp.pages import trills

# F5 sounds a whole tone lower on a B-flat soprano: E flat 5, 600 cents above A4 (closed formula).
F5_HZ = 440 * 2 ** (600 / 1200)


@pytest.fixture
def unscreened(monkeypatch: pytest.MonkeyPatch) -> None:
    """The real finder, without its screening; the page waits for it."""
    exact_finder.put_in_place(monkeypatch)
    monkeypatch.setattr(trills, "open_trill", partial(open_trill, patience_s=600.0))


@pytest.mark.usefixtures("unscreened")
def test_pairs_stand_with_what_is_known_of_each_end(
    notebook: Notebook, client: Browser, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    fingering = log(notebook, instrument, "F5", "T R 123 | 1--")
    take_maker(notebook, fingering, F5_HZ * 2 ** (3 / 1200))
    log(notebook, instrument, "F#5", "T R 123 | 1-- | C#/G#")
    page = client.get(f"/instruments/{instrument}/trill?q=F%235&to=F5")
    assert page.status == 200
    text = " ".join(page.text.split())
    assert "Trill or tremolo, 100 cents." in text
    first = " ".join(page.find("li", class_="pair-row")[0].text.split())
    for words in ("One finger", "Presses: right third finger", "Effort 2 there and back"):
        assert words in first
    assert "+3.0 cents, in tune" in first
    assert "T R 123 | 1-- | right cross, ordinary" in first
    assert "not tried" in text
    # the fork with its neighbours in between
    assert "Unless the fingers move together, something near" in text
    assert page.find("a", href=f"/fingerings/{fingering}")


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("q=F5&to=F5", "Both notes are the same"),
        ("q=F4&to=G5", "more than an octave apart"),
        ("q=F5&to=nonsense", "nonsense"),
    ],
)
def test_what_makes_no_trill_is_refused_in_place(
    notebook: Notebook, client: Browser, query: str, words: str
) -> None:
    instrument = add_clarinet(notebook)
    page = client.get(f"/instruments/{instrument}/trill?{query}")
    assert page.status == 422
    assert words in page.text


def test_without_notes_there_is_the_form(notebook: Notebook, client: Browser) -> None:
    instrument = add_clarinet(notebook)
    page = client.get(f"/instruments/{instrument}/trill")
    assert page.status == 200
    assert set(page.form("", method="get").values) >= {"q", "to"}


def test_where_no_tube_is_known_there_are_the_known_pairs(
    notebook: Notebook, client: Browser, fake_finder: FakeFinder
) -> None:
    fake_finder.is_unavailable = True
    instrument = add_clarinet(notebook)
    page = client.get(f"/instruments/{instrument}/trill?q=F5&to=F%235")
    text = " ".join(page.text.split())
    assert "Only what is known: Nothing is known of this tube, says the fake." in text
    assert "right cross, ordinary" in text
