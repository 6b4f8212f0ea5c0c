"""Decoding without a child process, whose start takes longer than all else.

Children, their limits and what they make of hostile clips have tests of their own
(`tests/analysis/recording`, `tests/analysis/decoder`), and commands and browsers use them for real.
"""

import json
import tempfile
from pathlib import Path
from types import FunctionType

from analysis.decoder import child
from analysis.recording import ClipFormat, decode, decode_clip


class ChildHere:
    """Stands in the place of a decoding child: does its job in this process, without its limits."""

    def __init__(self, path: Path, kind: ClipFormat) -> None:
        self.output = tempfile.TemporaryFile()  # noqa: SIM115 - closed at the end, as a child's
        library = child.load_library(kind.value)
        bounds = child.Bounds(decode.MAX_CLIP_S, decode.MAX_FRAMES, decode.MAX_CHANNELS)
        with path.open("rb") as stream:
            report = child.decode(stream, kind.value, self.output, library=library, bounds=bounds)
        self.output.write(json.dumps(report).encode("ascii").ljust(child.REPORT_BYTES))
        self.output.flush()

    def __enter__(self) -> "ChildHere":
        return self

    def __exit__(self, *_: object) -> None:
        self.output.close()

    def wait(self, _: float) -> int:
        """Say that it has ended well."""
        return 0


decode_here = FunctionType(
    decode_clip.__code__, {**vars(decode), "_hand_over": ChildHere}, "decode_here"
)
"""As `decode_clip`, but for the child."""
decode_here.__kwdefaults__ = decode_clip.__kwdefaults__
