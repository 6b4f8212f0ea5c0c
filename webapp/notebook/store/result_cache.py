"""Results that take a while to compute: made once beside the pages, kept in memory.

Each result has a name (whose model it is) and an order (everything it was computed from). While the
order stays the same, the result is handed out at once; another order makes it anew, on a thread of
its own, and whoever asks meanwhile is told for how long that has been going on. Nothing here
touches the database: what the work needs is in it when it is handed over.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Generic, TypeVar, cast

from analysis.errors import AnalysisError

_LOG = logging.getLogger("quartervent")
PATIENCE_S = 1.5
_UNFORESEEN = (
    "The computation failed; nothing of the notebook was changed, and the details are in its log. "
    "Load the page again to try once more."
)

Result = TypeVar("Result")
Report = Callable[[float], None]
"""Tells how much of a piece of work is done, from 0 to 1."""


@dataclass(frozen=True, slots=True)
class Ready(Generic[Result]):
    """The result is there."""

    value: Result


@dataclass(frozen=True, slots=True)
class Working:
    """It is being computed, and has been for this long; how much is done, where that is known."""

    elapsed_s: float
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Failed:
    """It can't be computed, and why."""

    reason: str


Outcome = Ready[Result] | Working | Failed
Name = tuple[str, int]
"""What kind of result it is, and whose: `("model", 3)`."""


@dataclass(slots=True)
class _Piece:
    order: Hashable
    work: Callable[[Report], object]
    started_s: float = field(default_factory=time.monotonic)
    done: threading.Event = field(default_factory=threading.Event)
    outcome: Ready[object] | Failed | None = None
    is_worth_keeping: bool = True
    share: float | None = None

    def report(self, share: float) -> None:
        """Note how much is done."""
        self.share = share


class ResultCache:
    """Where the results of one served notebook are made and kept."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        # One piece of work of a kind at a time: the machine has other users.
        self._benches: defaultdict[str, threading.Lock] = defaultdict(threading.Lock)
        self._pieces: dict[Name, _Piece] = {}

    def ask(
        self,
        name: Name,
        order: Hashable,
        work: Callable[[Report], Result],
        *,
        patience_s: float = PATIENCE_S,
    ) -> Outcome[Result]:
        """Return the result of `work` for an order; begin it, and wait a moment, where needed."""
        with self._lock:
            piece = self._pieces.get(name)
            if piece is None or piece.order != order:
                piece = self._pieces[name] = _Piece(order, work)
                threading.Thread(target=self._do, args=(name, piece), daemon=True).start()
        piece.done.wait(patience_s)
        if piece.outcome is None:
            return Working(time.monotonic() - piece.started_s, piece.share)
        if not piece.is_worth_keeping:
            self._forget(name, piece)
        return cast("Outcome[Result]", piece.outcome)

    def knows(self, name: Name) -> bool:
        """Whether a result of this name was ever asked for; its order may be another."""
        return name in self._pieces

    def has(self, name: Name, order: Hashable) -> bool:
        """Whether a result is there for an order; nothing is begun."""
        piece = self._pieces.get(name)
        return piece is not None and piece.order == order and isinstance(piece.outcome, Ready)

    def _do(self, name: Name, piece: _Piece) -> None:
        with self._lock:
            bench = self._benches[name[0]]
        with bench:
            if self._pieces.get(name) is not piece:
                return  # nobody wants it any more: another order came in
            try:
                piece.outcome = Ready(piece.work(piece.report))
            except AnalysisError as error:
                piece.outcome = Failed(str(error))
            except Exception:
                _LOG.exception("work for a page failed")
                piece.is_worth_keeping = False
                piece.outcome = Failed(_UNFORESEEN)
            finally:
                piece.done.set()

    def _forget(self, name: Name, piece: _Piece) -> None:
        with self._lock:
            if self._pieces.get(name) is piece:
                del self._pieces[name]
