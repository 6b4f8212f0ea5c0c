"""Waiting room for connections that have not asked for anything yet.

A stranger may connect and say nothing, begin a TLS handshake and stop, or shake hands and send no
request. Each such connection would hold a worker until its timeout, and a few dozen would keep
everybody out. So one thread watches them all (non-blocking handshakes, `selectors`), with a
deadline for each, and only one that has shaken hands and begun to ask goes to a worker. Of those
that wait, each address may have a few: beyond that its oldest one is dropped.
"""

import logging
import selectors
import socket
import ssl
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

DEADLINE_S = 8.0
MOST_WAITING_EACH = 12  # a browser opens some six at once
MOST_WAITING = 128
_TICK_S = 0.5
_LOG = logging.getLogger("quartervent")


class Waiting(Protocol):
    """A connection as the waiting room sees it."""

    socket: ssl.SSLSocket
    remote_addr: str

    def close(self) -> None:
        """Close it."""


@dataclass(eq=False, slots=True)
class _Guest:
    connection: Waiting
    came_s: float = field(default_factory=time.monotonic)
    has_shaken_hands: bool = False


class WaitingRoom:
    """Watches connections until they ask for something, then hands them over.

    Args:
        hand_over: takes a connection that has begun to ask, its socket blocking again.
        timeout_s: of its socket from then on.
    """

    def __init__(self, hand_over: Callable[[Waiting], None], *, timeout_s: float) -> None:
        self._hand_over = hand_over
        self._timeout_s = timeout_s
        self._selector = selectors.DefaultSelector()
        self._arrivals: deque[Waiting] = deque()
        self._guests: list[_Guest] = []
        self._wake_reader, self._waker = socket.socketpair()
        self._wake_reader.setblocking(False)
        self._selector.register(self._wake_reader, selectors.EVENT_READ)
        self._is_closing = False
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def open(self) -> None:
        """Begin to watch."""
        self._thread.start()

    def admit(self, connection: Waiting) -> None:
        """Let a new connection wait; returns at once, from any thread."""
        self._arrivals.append(connection)
        self._waker.send(b"\0")

    def close(self) -> None:
        """Drop all that wait, and end."""
        self._is_closing = True
        if self._thread.is_alive():
            self._waker.send(b"\0")
            self._thread.join()
        for guest in list(self._guests):
            self._drop(guest)
        while self._arrivals:
            self._arrivals.popleft().close()
        self._selector.close()
        self._waker.close()
        self._wake_reader.close()

    def _watch(self) -> None:
        while not self._is_closing:
            for key, _ in self._selector.select(_TICK_S):
                if isinstance(key.data, _Guest):
                    self._go_on(key.data)
                else:
                    self._wake_reader.recv(4096)
            while self._arrivals:
                self._welcome(self._arrivals.popleft())
            late_s = time.monotonic() - DEADLINE_S
            for guest in [each for each in self._guests if each.came_s < late_s]:
                self._drop(guest)

    def _welcome(self, connection: Waiting) -> None:
        same = [
            each for each in self._guests if each.connection.remote_addr == connection.remote_addr
        ]
        if len(same) >= MOST_WAITING_EACH:
            self._drop(same[0])
        elif len(self._guests) >= MOST_WAITING:
            self._drop(self._guests[0])
        guest = _Guest(connection)
        connection.socket.setblocking(False)
        self._guests.append(guest)
        self._selector.register(connection.socket, selectors.EVENT_READ, guest)

    def _go_on(self, guest: _Guest) -> None:
        """Shake hands a step further; once that is done, what can be read is a request."""
        if guest.has_shaken_hands:
            self._leave(guest)
            guest.connection.socket.settimeout(self._timeout_s)
            self._hand_over(guest.connection)
            return
        try:
            guest.connection.socket.do_handshake()
        except ssl.SSLWantReadError:
            self._selector.modify(guest.connection.socket, selectors.EVENT_READ, guest)
        except ssl.SSLWantWriteError:
            self._selector.modify(guest.connection.socket, selectors.EVENT_WRITE, guest)
        except OSError:  # TLS that failed, or was none at all
            self._drop(guest)
        else:
            guest.has_shaken_hands = True
            self._selector.modify(guest.connection.socket, selectors.EVENT_READ, guest)
            if guest.connection.socket.pending():
                self._go_on(guest)

    def _leave(self, guest: _Guest) -> None:
        self._guests.remove(guest)
        self._selector.unregister(guest.connection.socket)

    def _drop(self, guest: _Guest) -> None:
        self._leave(guest)
        try:
            guest.connection.close()
        except OSError as error:
            _LOG.info("shared: a connection could not be closed: %s", error)
