"""Slow results are made once, told about while they are made, and made anew when it matters."""

import threading
from functools import partial

import pytest

from analysis.finder import FinderUnavailable
from webapp.notebook.store.result_cache import Failed, Ready, Report, ResultCache, Working

NAME = ("model", 1)
PATIENCE_S = 10.0


def test_a_result_is_made_once_and_anew_for_other_inputs() -> None:
    result_cache, made = ResultCache(), []

    def work(report: Report) -> int:
        del report
        made.append(1)
        return len(made)

    for inputs, result in (("a", 1), ("a", 1), ("b", 2), ("b", 2), ("a", 3)):
        assert result_cache.ask(NAME, inputs, work, patience_s=PATIENCE_S) == Ready(result)


def test_results_of_different_names_do_not_push_each_other_out() -> None:
    result_cache = ResultCache()
    for name in (("model", 1), ("model", 2), ("plan", 1)):
        assert result_cache.ask(name, "a", partial(_say, name), patience_s=10) == Ready(name)
    again = result_cache.ask(("model", 1), "a", lambda _: ("other", 0), patience_s=10)
    assert again == Ready(("model", 1))


def _say(name: tuple[str, int], report: Report) -> tuple[str, int]:
    del report
    return name


def test_whoever_asks_meanwhile_is_told_how_far_it_is() -> None:
    result_cache, reported, go_on = ResultCache(), threading.Event(), threading.Event()

    def work(report: Report) -> str:
        report(0.25)
        reported.set()
        assert go_on.wait(PATIENCE_S)
        return "done"

    result_cache.ask(NAME, "a", work, patience_s=0)
    assert reported.wait(PATIENCE_S)
    outcome = result_cache.ask(NAME, "a", work, patience_s=0)
    assert isinstance(outcome, Working)
    assert outcome.share == 0.25
    assert outcome.elapsed_s >= 0
    go_on.set()
    assert result_cache.ask(NAME, "a", work, patience_s=PATIENCE_S) == Ready("done")


def test_work_that_nobody_wants_any_more_is_not_begun() -> None:
    result_cache, began, go_on, done = ResultCache(), threading.Event(), threading.Event(), []

    def hold(_: Report) -> str:
        began.set()
        assert go_on.wait(PATIENCE_S)
        return "held"

    result_cache.ask(("model", 2), "a", hold, patience_s=0)
    assert began.wait(PATIENCE_S)
    result_cache.ask(NAME, "old", lambda _: done.append("old"), patience_s=0)
    result_cache.ask(NAME, "new", lambda _: done.append("new"), patience_s=0)
    go_on.set()
    result_cache.ask(NAME, "new", lambda _: None, patience_s=PATIENCE_S)
    assert done == ["new"]


def test_what_a_player_can_understand_is_said_and_stays_so() -> None:
    result_cache, asked = ResultCache(), []

    def work(_: Report) -> None:
        asked.append(1)
        raise FinderUnavailable("nothing is known")

    for _ in range(2):
        outcome = result_cache.ask(NAME, "a", work, patience_s=PATIENCE_S)
        assert outcome == Failed("nothing is known")
    assert asked == [1]


def test_an_unforeseen_failure_is_logged_not_shown_and_tried_again(
    caplog: pytest.LogCaptureFixture,
) -> None:
    result_cache = ResultCache()

    def fail(_: Report) -> None:
        raise RuntimeError("a secret path")

    outcome = result_cache.ask(NAME, "a", fail, patience_s=PATIENCE_S)
    assert isinstance(outcome, Failed)
    assert "secret" not in outcome.reason
    assert "a secret path" in caplog.text
    assert result_cache.ask(NAME, "a", lambda _: 5, patience_s=PATIENCE_S) == Ready(5)
