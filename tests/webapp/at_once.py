"""Actions that start together in threads of their own."""

import threading
from collections.abc import Callable


def at_once(*actions: Callable[[], object]) -> list[BaseException]:
    """Run actions in threads that start together; return what they raised."""
    start, raised = threading.Barrier(len(actions)), []

    def run(action: Callable[[], object]) -> None:
        start.wait()
        try:
            action()
        except BaseException as error:  # handed to the test
            raised.append(error)

    threads = [threading.Thread(target=run, args=(action,)) for action in actions]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return raised
