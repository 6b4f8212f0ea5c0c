"""Slow results are made once, told about while they are made, and made anew when it matters."""

import threading
from functools import partial

import pytest

from analysis.finder import FinderUnavailable
from webapp.notebook.store import result_cache as cache_module
from webapp.notebook.store.errors import Refused
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


class Held:
    """Work that reports again and again until it is let go."""

    def __init__(self) -> None:
        self.began, self.go_on, self.ended = (threading.Event() for _ in range(3))
        self.begun_count = 0

    def __call__(self, report: Report) -> str:
        self.begun_count += 1
        self.began.set()
        try:
            while not self.go_on.wait(0.001):
                report(0.5)
        finally:
            self.ended.set()
        return "held"


def test_only_one_piece_of_work_is_done_at_a_time_and_the_next_says_that_it_waits() -> None:
    result_cache, first = ResultCache(), Held()
    result_cache.ask(NAME, "a", first, patience_s=0)
    assert first.began.wait(PATIENCE_S)
    second = result_cache.ask(("plan", 1), "a", lambda _: "second", patience_s=0)
    assert isinstance(second, Working)
    assert second.is_queued
    first.go_on.set()
    again = result_cache.ask(("plan", 1), "a", lambda _: "again", patience_s=PATIENCE_S)
    assert again == Ready("second")


def test_work_that_nobody_waits_for_is_given_up_and_begun_anew_when_asked_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cache_module, "GIVEN_UP_AFTER_S", 0.0)
    result_cache, held = ResultCache(), Held()
    asking = threading.Thread(target=result_cache.ask, args=(NAME, "a", held))
    asking.start()
    assert held.began.wait(PATIENCE_S)
    assert not held.ended.is_set(), "somebody still waits"
    asking.join()
    assert held.ended.wait(PATIENCE_S)
    held.go_on.set()
    assert result_cache.ask(NAME, "a", held, patience_s=PATIENCE_S) == Ready("held")
    assert held.begun_count == 2


def test_what_was_dropped_while_it_waited_its_turn_is_made_when_asked_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    result_cache, held = ResultCache(), Held()
    result_cache.ask(NAME, "a", held, patience_s=0)
    assert held.began.wait(PATIENCE_S)
    result_cache.ask(("plan", 1), "a", lambda _: "never", patience_s=0)  # waits its turn
    monkeypatch.setattr(cache_module, "GIVEN_UP_AFTER_S", 0.0)
    held.go_on.set()
    assert held.ended.wait(PATIENCE_S)
    again = result_cache.ask(("plan", 1), "a", lambda _: "made", patience_s=PATIENCE_S)
    assert again in (Ready("made"), Ready("never"))


def test_work_can_be_given_up_by_name_and_nothing_is_left_of_it() -> None:
    result_cache, held = ResultCache(), Held()
    result_cache.ask(NAME, "a", held, patience_s=0)
    assert held.began.wait(PATIENCE_S)
    result_cache.give_up(NAME)
    assert held.ended.wait(PATIENCE_S)
    assert result_cache.look(NAME) is None
    result_cache.give_up(NAME)  # there is nothing any more, which is as it should be


def test_what_is_made_ahead_stops_for_what_somebody_waits_for_and_goes_on_afterwards() -> None:
    result_cache, ahead = ResultCache(), Held()
    result_cache.make_ahead(("ahead", 1), "a", ahead)
    assert ahead.began.wait(PATIENCE_S)
    asked = result_cache.ask(NAME, "a", lambda _: "asked", patience_s=PATIENCE_S)
    assert asked == Ready("asked")
    ahead.go_on.set()
    assert result_cache.look(("ahead", 1), patience_s=PATIENCE_S) == Ready("held")
    assert ahead.begun_count > 1


def test_work_gives_way_while_a_page_is_made_but_not_to_the_page_that_waits_for_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cache_module, "GIVES_WAY_S", PATIENCE_S)
    result_cache, shares = ResultCache(), []

    def work(report: Report) -> str:
        for share in (0.1, 0.2):
            report(share)
            shares.append(share)
        return "done"

    other = threading.Event()
    arrived = threading.Event()

    def make_page() -> None:
        result_cache.traffic.arrive()
        arrived.set()
        assert other.wait(PATIENCE_S)
        result_cache.traffic.leave()

    page = threading.Thread(target=make_page)
    page.start()
    assert arrived.wait(PATIENCE_S)
    result_cache.traffic.arrive()  # this thread's own page, which only waits
    assert isinstance(result_cache.ask(NAME, "a", work, patience_s=0.05), Working)
    assert shares == []
    other.set()
    assert result_cache.ask(NAME, "a", work, patience_s=PATIENCE_S / 2) == Ready("done")
    page.join()
    result_cache.traffic.leave()


def test_a_file_is_fetched_once_and_let_go_of_where_nobody_fetches_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    result_cache, name = ResultCache(), ("backup", 0)
    result_cache.ask(name, "a", lambda _: "file", patience_s=PATIENCE_S)
    assert (result_cache.take(name), result_cache.take(name)) == ("file", None)
    result_cache.ask(name, "b", lambda _: "file", patience_s=PATIENCE_S)
    monkeypatch.setattr(cache_module, "KEPT_FOR_S", -1.0)
    result_cache.ask(NAME, "a", lambda _: 1, patience_s=PATIENCE_S)
    assert result_cache.look(name) is None
    assert result_cache.has(NAME, "a")


def test_what_the_notebook_refuses_is_said_and_tried_again() -> None:
    result_cache = ResultCache()

    def refuse(_: Report) -> None:
        raise Refused("The disk is not there.")

    outcome = result_cache.ask(NAME, "a", refuse, patience_s=PATIENCE_S)
    assert outcome == Failed("The disk is not there.")
    assert isinstance(outcome, Failed)
    assert isinstance(outcome.error, Refused)
    assert result_cache.ask(NAME, "a", lambda _: 5, patience_s=PATIENCE_S) == Ready(5)


def test_the_end_of_the_program_ends_the_work() -> None:
    held = Held()
    with ResultCache() as result_cache:
        result_cache.ask(NAME, "a", held, patience_s=0)
        assert held.began.wait(PATIENCE_S)
    assert held.ended.is_set()
