"""Key effects come from the player's own measured fingerings."""

import threading
from collections.abc import Callable
from typing import Any

import pytest

import analysis.finder
from analysis.finder import KeyEffect
from tests.webapp.finder_fakes import E5, RAISED_E5, FakeFinder, cross_effect
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.finder import key_effects
from webapp.notebook.finder.key_effects import open_key_effects
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache, Working

# E5 sounds a whole tone lower on a B-flat soprano: 500 cents above A4 (closed formula).
E5_HZ = 440 * 2 ** (500 / 1200)


def test_the_finder_is_asked_with_the_layout_of_the_instrument(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    fake_finder.effects = (cross_effect(),)
    page = open_key_effects(notebook, ResultCache(), add_clarinet(notebook))
    assert page.effects == (cross_effect(),)
    assert page.measured_count == 0


def test_two_measured_fingerings_one_key_apart_give_its_effect(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    plain, raised = (log(notebook, instrument, "E5", keys) for keys in (E5, RAISED_E5))
    take_maker(notebook, plain, E5_HZ)
    assert open_key_effects(notebook, ResultCache(), instrument).effects == ()
    take_maker(notebook, raised, E5_HZ * 2 ** (30 / 1200))
    (effect,) = open_key_effects(notebook, ResultCache(), instrument).effects
    assert effect.key.name == "right F sharp key"
    assert effect.low_cents <= 30 <= effect.high_cents + 1e-6


def test_of_many_fingerings_they_are_learned_in_the_background(
    notebook: Notebook, take_maker: TakeMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(key_effects, "LEARNED_AT_ONCE", 1)
    instrument = add_clarinet(notebook)
    for keys, factor in ((E5, 1.0), (RAISED_E5, 2 ** (30 / 1200))):
        take_maker(notebook, log(notebook, instrument, "E5", keys), E5_HZ * factor)
    at_once = open_key_effects(notebook, ResultCache(), instrument).effects
    goes_on, shares = threading.Event(), []
    learn = analysis.finder.key_effects

    def learn_slowly(
        *of: Any, progress: Callable[[float], None], **more: Any
    ) -> tuple[KeyEffect, ...]:
        def note(share: float) -> None:
            goes_on.wait(10)
            shares.append(share)
            progress(share)

        return learn(*of, progress=note, **more)

    monkeypatch.setattr(analysis.finder, "key_effects", learn_slowly)
    with ResultCache() as cache:
        page = open_key_effects(notebook, cache, instrument, patience_s=0.01)
        assert isinstance(page.working, Working) and page.effects == ()
        goes_on.set()
        assert open_key_effects(notebook, cache, instrument, patience_s=10).effects == at_once
        take_maker(notebook, log(notebook, instrument, "E5", E5), E5_HZ * 2 ** (10 / 1200))
        (later,) = open_key_effects(notebook, cache, instrument, patience_s=10).effects
    assert (later.take_count, at_once[0].take_count) == (3, 2)
    assert shares == sorted(shares[: len(shares) // 2]) * 2


def test_a_strange_instrument_is_refused(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        open_key_effects(notebook, ResultCache(), 99)
