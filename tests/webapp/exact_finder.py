"""The real finder without its screening: quick for pages that predict a few fingerings only."""

from typing import Any

import pytest

import analysis.finder
from analysis.finder import PlayerModel


def put_in_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let models be made without screening and without preparation."""

    def fit(*arguments: Any, **wishes: Any) -> PlayerModel:
        return PlayerModel.fit(*arguments, **wishes, is_screened=False)

    model: Any = type("UnscreenedModel", (), {"fit": staticmethod(fit)})
    monkeypatch.setattr(analysis.finder, "PlayerModel", model)
    monkeypatch.setattr(analysis.finder, "prepare", lambda *_: None)
