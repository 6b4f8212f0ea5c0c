"""The real finder without its screening: quick for pages that predict a few fingerings only."""

from typing import Any

import pytest

import analysis.finder
from analysis.finder import PlayerModel, Suggestions
from analysis.pitch import Sentence
from analysis.planning import trills
from tests.webapp.finder_fakes import FakeFinder


def put_in_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let models be made without screening and without preparation."""

    def fit(*arguments: Any, **wishes: Any) -> PlayerModel:
        return PlayerModel.fit(*arguments, **wishes, is_screened=False)

    model: Any = type("UnscreenedModel", (), {"fit": staticmethod(fit)})
    monkeypatch.setattr(analysis.finder, "PlayerModel", model)
    monkeypatch.setattr(analysis.finder, "prepare", lambda *_: None)


def put_in_place_stated(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let such models predict, but state what is searched for: suggestions, plans and effects.

    A trill gets no suggestion beside what is known, ordinary or one key away.
    """
    put_in_place(monkeypatch)
    monkeypatch.setattr(trills, "suggest", _find_nothing)
    fake = FakeFinder()
    for name in ("suggest", "key_effects", "plan_range"):
        monkeypatch.setattr(analysis.finder, name, getattr(fake, name))


def _find_nothing(*_: Any, **__: Any) -> Suggestions:
    return Suggestions((), Sentence("Nothing, says the fake."))
