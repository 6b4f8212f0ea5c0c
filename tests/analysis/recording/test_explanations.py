"""Sentences for the player."""

from __future__ import annotations

import re

import pytest

from analysis.recording import (
    Alternation,
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
    take = TakeMeasurement(Verdict.TOO_SHORT, 2.0, steady_from_s=0.5, steady_to_s=0.62)
    assert explain(take) == (
        "This clip holds 0.12 s of tone and pitch needs at least 0.18 s:"
        " record it again a little longer."
    )


def test_a_tone_just_too_short_is_not_rounded_up_to_what_is_needed() -> None:
    take = TakeMeasurement(Verdict.TOO_SHORT, 2.0, steady_from_s=0.5, steady_to_s=0.6799)
    assert "holds 0.17 s" in explain(take)


def test_a_clip_shorter_than_any_tone_is_named_by_its_own_length() -> None:
    assert "holds 0.10 s" in explain(TakeMeasurement(Verdict.TOO_SHORT, 0.1))


@pytest.mark.parametrize("verdict", [Verdict.TRILL, Verdict.TREMOLO])
def test_a_trill_and_a_tremolo_tell_their_notes_and_pace(verdict: Verdict) -> None:
    text = explain(TakeMeasurement(verdict, 2.0, alternation=Alternation(6.04, 440.0, 493.9)))
    assert f"a {verdict.value} between 440.0 Hz and 493.9 Hz, 6.0 times a second" in text
    assert _is_one_sentence(text)
