"""Guessing is slow, by a clock that the test moves."""

import threading
import time

from tests.webapp.doors import Clock
from webapp.sharing.tries import FIRST_WAIT_S, FREE_TRIES, LONGEST_WAIT_S, Tries


def guess_wrong(tries: Tries, clock: Clock) -> float:
    """Wait as long as is asked, then guess wrong; return the next wait."""
    wait_s = tries.judge(lambda: False)
    assert wait_s is not None
    clock.now_s += wait_s
    return wait_s


def test_a_right_try_is_let_in_at_once() -> None:
    assert Tries(Clock()).judge(lambda: True) is None


def test_slips_of_the_finger_are_free_and_then_each_wait_is_twice_as_long() -> None:
    clock = Clock()
    tries = Tries(clock)
    waits = [guess_wrong(tries, clock) for _ in range(14)]
    assert waits[: FREE_TRIES - 1] == [0.0] * (FREE_TRIES - 1)
    assert waits[FREE_TRIES - 1 : FREE_TRIES + 3] == [2.0, 4.0, 8.0, 16.0]
    assert waits[-1] == LONGEST_WAIT_S


def test_a_day_of_guessing_tries_a_few_hundred() -> None:
    clock = Clock()
    tries = Tries(clock)
    end_s = clock.now_s + 24 * 3600
    count = 0
    while clock.now_s < end_s:
        guess_wrong(tries, clock)
        count += 1
    assert count < 310  # 86 400 s / 300 s, and the quick ones at the beginning


def test_while_it_waits_nothing_is_asked_not_even_a_right_one() -> None:
    clock = Clock()
    tries = Tries(clock)
    for _ in range(FREE_TRIES):
        tries.judge(lambda: False)
    asked: list[bool] = []

    def ask() -> bool:
        asked.append(True)
        return True

    clock.now_s += FIRST_WAIT_S / 2
    assert tries.judge(ask) == FIRST_WAIT_S / 2
    assert asked == []
    clock.now_s += FIRST_WAIT_S / 2
    assert tries.judge(ask) is None


def test_being_let_in_forgives_what_was_wrong_before() -> None:
    clock = Clock()
    tries = Tries(clock)
    for _ in range(FREE_TRIES):
        guess_wrong(tries, clock)
    assert tries.judge(lambda: True) is None
    assert tries.judge(lambda: False) == 0.0


def test_many_at_once_are_judged_one_after_the_other() -> None:
    tries = Tries(Clock())
    at_work = 0
    most_at_work = 0
    asked = 0

    def ask() -> bool:
        nonlocal at_work, most_at_work, asked
        at_work += 1
        asked += 1
        most_at_work = max(most_at_work, at_work)
        time.sleep(0.01)  # long enough for the others to come in, if they could
        at_work -= 1
        return False

    threads = [threading.Thread(target=tries.judge, args=(ask,)) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most_at_work == 1
    assert asked == FREE_TRIES, "the clock stands still, so the rest had to wait"
