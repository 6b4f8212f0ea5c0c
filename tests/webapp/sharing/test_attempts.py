"""Guessing is slow, by a clock that the test moves."""

import threading
import time

from tests.webapp.shared_access import Clock
from webapp.sharing.attempts import FIRST_WAIT_S, FREE_ATTEMPTS, LONGEST_WAIT_S, PassphraseAttempts


def guess_wrong(attempts: PassphraseAttempts, clock: Clock) -> float:
    """Wait as long as is asked, then guess wrong; return the next wait."""
    wait_s = attempts.judge(lambda: False)
    assert wait_s is not None
    clock.now_s += wait_s
    return wait_s


def test_a_right_try_is_let_in_at_once() -> None:
    assert PassphraseAttempts(Clock()).judge(lambda: True) is None


def test_slips_of_the_finger_are_free_and_then_each_wait_is_twice_as_long() -> None:
    clock = Clock()
    attempts = PassphraseAttempts(clock)
    waits = [guess_wrong(attempts, clock) for _ in range(14)]
    assert waits[: FREE_ATTEMPTS - 1] == [0.0] * (FREE_ATTEMPTS - 1)
    assert waits[FREE_ATTEMPTS - 1 : FREE_ATTEMPTS + 3] == [2.0, 4.0, 8.0, 16.0]
    assert waits[-1] == LONGEST_WAIT_S


def test_a_day_of_guessing_tries_a_few_hundred() -> None:
    clock = Clock()
    attempts = PassphraseAttempts(clock)
    end_s = clock.now_s + 24 * 3600
    count = 0
    while clock.now_s < end_s:
        guess_wrong(attempts, clock)
        count += 1
    assert count < 310  # 86 400 s / 300 s, and the quick ones at the beginning


def test_while_it_waits_nothing_is_asked_not_even_a_right_one() -> None:
    clock = Clock()
    attempts = PassphraseAttempts(clock)
    for _ in range(FREE_ATTEMPTS):
        attempts.judge(lambda: False)
    asked: list[bool] = []

    def ask() -> bool:
        asked.append(True)
        return True

    clock.now_s += FIRST_WAIT_S / 2
    assert attempts.judge(ask) == FIRST_WAIT_S / 2
    assert asked == []
    clock.now_s += FIRST_WAIT_S / 2
    assert attempts.judge(ask) is None


def test_being_let_in_forgives_what_was_wrong_before() -> None:
    clock = Clock()
    attempts = PassphraseAttempts(clock)
    for _ in range(FREE_ATTEMPTS):
        guess_wrong(attempts, clock)
    assert attempts.judge(lambda: True) is None
    assert attempts.judge(lambda: False) == 0.0


def test_many_at_once_are_judged_one_after_the_other() -> None:
    attempts = PassphraseAttempts(Clock())
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

    threads = [threading.Thread(target=attempts.judge, args=(ask,)) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most_at_work == 1
    assert asked == FREE_ATTEMPTS, "the clock stands still, so the rest had to wait"
