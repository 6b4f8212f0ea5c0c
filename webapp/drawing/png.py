"""A picture of dots in grey, as a PNG file.

Source: PNG specification, third edition (W3C): signature, IHDR (grey, 8 bit), IDAT (zlib; one
filter byte before each row), IEND; each chunk with its CRC.
"""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_GREY = 0
_FILTER_UP = 2


def write_grey_png(dots: NDArray[np.uint8]) -> bytes:
    """Write dots of shape (rows, columns), 0 black to 255 white.

    >>> write_grey_png(np.zeros((1, 2), dtype=np.uint8))[:8]
    b'\\x89PNG\\r\\n\\x1a\\n'
    """
    height, width = dots.shape
    above = np.vstack([np.zeros((1, width), dtype=np.uint8), dots[:-1]])
    filtered = np.full((height, width + 1), _FILTER_UP, dtype=np.uint8)
    filtered[:, 1:] = dots - above  # modulo 256, as the filter asks for
    header = struct.pack(">IIBBBBB", width, height, 8, _GREY, 0, 0, 0)
    return b"".join(
        (
            _SIGNATURE,
            _chunk(b"IHDR", header),
            _chunk(b"IDAT", zlib.compress(filtered.tobytes(), 6)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, content: bytes) -> bytes:
    check = zlib.crc32(kind + content)
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", check)
