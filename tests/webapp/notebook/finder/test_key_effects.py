"""Key effects come from the player's own measured fingerings."""

import pytest

from tests.webapp.finder_fakes import E5, RAISED_E5, FakeFinder, cross_effect
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.finder.key_effects import open_key_effects
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook

# E5 sounds a whole tone lower on a B-flat soprano: 500 cents above A4 (closed formula).
E5_HZ = 440 * 2 ** (500 / 1200)


def test_the_finder_is_asked_with_the_layout_of_the_instrument(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    fake_finder.effects = (cross_effect(),)
    page = open_key_effects(notebook, add_clarinet(notebook))
    assert page.effects == (cross_effect(),)
    assert page.measured_count == 0


def test_two_measured_fingerings_one_key_apart_give_its_effect(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    plain, raised = (log(notebook, instrument, "E5", keys) for keys in (E5, RAISED_E5))
    take_maker(notebook, plain, E5_HZ)
    assert open_key_effects(notebook, instrument).effects == ()
    take_maker(notebook, raised, E5_HZ * 2 ** (30 / 1200))
    (effect,) = open_key_effects(notebook, instrument).effects
    assert effect.key.name == "right F sharp key"
    assert effect.low_cents <= 30 <= effect.high_cents + 1e-6


def test_a_strange_instrument_is_refused(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        open_key_effects(notebook, 99)
