"""Entry point of the child process: one score file to the transcript of one part.

The job comes as one line of JSON on standard input: path, number of the part (0: choose). The
answer, JSON on standard output, is {"read": transcript} or {"refused": reason, "detail": words}.
"""

from __future__ import annotations

import gc
import json
import sys
from pathlib import Path
from typing import Any

from analysis.notation.archive import unpack_score
from analysis.notation.bounds import ScoreBounds, ScoreRejected
from analysis.notation.mei_items import MeiCutter
from analysis.notation.mei_reading import MeiReader
from analysis.notation.reading_parts import PartReader
from analysis.notation.transcript import PartTranscript, to_plain
from analysis.notation.xml_items import ItemCutter, find_root
from analysis.sandbox.faults import describe_fault
from analysis.sandbox.limits import limit_resources

MAX_CPU_S = 10
MAX_MEMORY_BYTES = 512 * 1024 * 1024
MAX_OUTPUT_BYTES = 64 * 1024 * 1024
FAULT_CHARACTERS = 300


def main(_: list[str]) -> None:
    """Wait for a file and read it; if the input ends without a line, none will come."""
    line = sys.stdin.buffer.readline()
    if not line.endswith(b"\n"):
        return
    path, number = json.loads(line)
    limit_resources(MAX_OUTPUT_BYTES, MAX_CPU_S, MAX_MEMORY_BYTES)
    gc.disable()  # there is nothing in circles, and the process ends with the file
    try:
        content = Path(path).read_bytes()
        answer: dict[str, Any] = read_content(content, number)
    except MemoryError:
        answer = {"refused": "limit", "detail": ""}
    sys.stdout.buffer.write(json.dumps(answer, separators=(",", ":")).encode("ascii"))
    sys.stdout.buffer.flush()


def read_content(
    content: bytes, number: int = 0, bounds: ScoreBounds | None = None
) -> dict[str, Any]:
    """Read the bytes of a score file and return the answer for the parent."""
    bounds = bounds or ScoreBounds()
    try:
        return {"read": to_plain(_read(unpack_score(content, bounds), number, bounds))}
    except ScoreRejected as rejection:
        return {"refused": rejection.reason, "detail": rejection.detail}
    except MemoryError:
        return {"refused": "limit", "detail": ""}
    except Exception as error:
        # a fault of ours, which says nothing about the file
        return {
            "refused": "fault",
            "detail": describe_fault(error, most_characters=FAULT_CHARACTERS),
        }


def _read(content: bytes, number: int, bounds: ScoreBounds) -> PartTranscript:
    if find_root(content).rpartition(":")[2] == "mei":
        mei_reader = MeiReader(number, bounds)
        mei_cutter = MeiCutter(mei_reader, bounds)
        mei_cutter.cut(content)
        return mei_reader.finish(mei_cutter.note_counts)
    reader = PartReader(number, bounds)
    cutter = ItemCutter(reader, bounds)
    cutter.cut(content)
    return reader.finish(cutter.note_counts)
