"""Sound given to the live modules of a page."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from numpy.typing import NDArray

# Samples cross as text, since a list of numbers takes a hundred times as long.
UNPACK = """(text) => new Float32Array(
    Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer)"""


def pack(samples: NDArray[Any]) -> str:
    """Samples as text for `UNPACK`."""
    return base64.b64encode(np.asarray(samples, dtype="<f4").tobytes()).decode("ascii")
