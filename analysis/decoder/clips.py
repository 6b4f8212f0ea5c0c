"""Interface of an open clip, whichever library reads it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, BinaryIO, Protocol

import numpy as np
from numpy.typing import NDArray

Block = NDArray[np.floating[Any]]


class ClipRejected(Exception):
    """The clip is not accepted; the arguments are the reason's name and a figure."""


class Clip(Protocol):
    """An open clip. `claimed` is how many frames it says it has, 0 if it does not say."""

    kind: str
    rate: int
    channels: int
    claimed: int

    def read_blocks(self) -> Iterator[Block]:
        """All sound from the start, in blocks of shape (n, channels), full scale -1 to 1.

        Ends where the clip breaks off.
        """

    def is_truncated(self, decoded: int) -> bool:
        """Whether the clip promises more than the frames that were decoded."""


class NamelessFile:
    """A file without a name, so that a library can judge by content only."""

    def __init__(self, stream: BinaryIO) -> None:
        self.seek = stream.seek
        self.tell = stream.tell
        self.read = stream.read
        self.readinto = stream.readinto  # type: ignore[attr-defined]  # missing in typeshed's BinaryIO
