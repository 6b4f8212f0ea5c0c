"""Sentences for the player."""

from __future__ import annotations

import re

import pytest

from analysis.recording import (
    TakeMeasurement,
    TakeWarning,
    Verdict,
    explain,
    explain_warning,
)


def _is_one_sentence(text: str) -> bool:
    return re.fullmatch(r"[A-Z]([^.?!]|\.\d)*\.", text) is not None


@pytest.mark.parametrize("verdict", Verdict)
def test_every_verdict_is_explained_in_one_plain_sentence(verdict: Verdict) -> None:
    text = explain(TakeMeasurement(verdict, 1.0))
    assert _is_one_sentence(text)
    assert "None" not in text


@pytest.mark.parametrize("warning", TakeWarning)
def test_every_warning_is_explained_in_one_plain_sentence(warning: TakeWarning) -> None:
    assert _is_one_sentence(explain_warning(warning))


def test_too_short_says_how_much_tone_there_was_and_how_much_is_needed() -> None:
    take = TakeMeasurement(Verdict.TOO_SHORT, 2.0, steady_from_s=0.5, steady_to_s=0.72)
    assert explain(take) == (
        "This clip holds 0.2 s of tone and pitch needs at least 0.3 s:"
        " record it again a little longer."
    )


def test_a_tone_just_too_short_is_not_rounded_up_to_what_is_needed() -> None:
    take = TakeMeasurement(Verdict.TOO_SHORT, 2.0, steady_from_s=0.5, steady_to_s=0.7999)
    assert "holds 0.2 s" in explain(take)


def test_a_clip_shorter_than_any_tone_is_named_by_its_own_length() -> None:
    assert "holds 0.1 s" in explain(TakeMeasurement(Verdict.TOO_SHORT, 0.1))
