"""Wrong passphrase attempts: after a few the next has to wait, longer each time.

One count for the whole shared notebook, not one for each sender, since a sender can take many
addresses. The price: somebody on the network who guesses all the time keeps others from signing in
(not those who are signed in, and not the player at the machine itself). While one attempt is being
hashed the others stand in line, so that many at once do not take the machine's memory.
"""

import threading
from collections.abc import Callable

FREE_ATTEMPTS = 3
FIRST_WAIT_S = 2.0
LONGEST_WAIT_S = 300.0


class PassphraseAttempts:
    """Counts wrong attempts by a clock of seconds that never goes back."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._wrong = 0
        self._next_at = clock()

    def judge(self, is_right: Callable[[], bool]) -> float | None:
        """Make an attempt.

        Returns None for a right one, else how many seconds to wait before the next; while
        everybody waits, `is_right` is not asked at all.
        """
        with self._lock:
            left_s = self._next_at - self._clock()
            if left_s > 0:
                return left_s
            if is_right():
                self._wrong = 0
                return None
            self._wrong += 1
            wait_s = self._wait_s()
            self._next_at = self._clock() + wait_s
            return wait_s

    def _wait_s(self) -> float:
        if self._wrong < FREE_ATTEMPTS:
            return 0.0
        doublings = min(self._wrong - FREE_ATTEMPTS, 20)
        return min(LONGEST_WAIT_S, FIRST_WAIT_S * float(2**doublings))
