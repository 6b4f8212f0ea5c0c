"""Decoding without a child process, whose start takes longer than all else.

Children, their limits and what they make of hostile clips have tests of their own
(`tests/analysis/recording`, `tests/analysis/decoder`), and commands and browsers use them for real.
"""

import json
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FunctionType
from typing import IO

from analysis.decoder import child
from analysis.recording import ClipFormat, decode, decode_clip


@dataclass(frozen=True)
class EndedChild:
    """Stands in the place of a decoding child that has ended well."""

    output: IO[bytes]

    def wait(self, _: float) -> int:
        """Return its exit code."""
        return 0


@contextmanager
def _hand_over(path: Path, kind: ClipFormat) -> Iterator[EndedChild]:
    """Do the job of a decoding child in this process, without its limits."""
    library = child.load_library(kind.value)
    bounds = child.Bounds(decode.MAX_CLIP_S, decode.MAX_FRAMES, decode.MAX_CHANNELS)
    with tempfile.TemporaryFile() as output, path.open("rb") as stream:
        report = child.decode(stream, kind.value, output, library=library, bounds=bounds)
        output.write(json.dumps(report).encode("ascii").ljust(child.REPORT_BYTES))
        output.flush()
        yield EndedChild(output)


decode_here = FunctionType(
    decode_clip.__code__, {**vars(decode), "_hand_over": _hand_over}, "decode_here"
)
"""As `decode_clip`, but for the child."""
decode_here.__kwdefaults__ = decode_clip.__kwdefaults__
