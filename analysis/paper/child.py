"""Entry point of the child process: one job on one file with pages of a part.

The job comes as one line of JSON on standard input, with its `do`: `look` (kind and sizes of the
pages, each of them drawn once, small), `draw` (a page as a picture for the screen), `set` (marks
above pages, as PDF). The answer is a line of JSON on standard output, {"read": ...} or {"refused":
reason, "detail": words}, and after it the bytes of the picture or the PDF.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from analysis.paper import pdf_pages, photos
from analysis.paper.bounds import PaperRejected
from analysis.sandbox.faults import describe_fault
from analysis.sandbox.limits import limit_resources

MAX_CPU_S = 20
MAX_MEMORY_BYTES = 768 * 1024 * 1024
MAX_OUTPUT_BYTES = 256 * 1024 * 1024
FAULT_CHARACTERS = 300


def main(_: list[str]) -> None:
    """Wait for a job and do it; if the input ends without a line, none will come."""
    line = sys.stdin.buffer.readline()
    if not line.endswith(b"\n"):
        return
    job = json.loads(line)
    is_setting = job["do"] == "set"
    if is_setting:
        from analysis.paper import setting  # loads the typesetter, which no other job needs
    limit_resources(MAX_OUTPUT_BYTES, MAX_CPU_S, MAX_MEMORY_BYTES)
    answer: dict[str, Any] = {"read": "pdf"}
    made = b""
    try:
        if is_setting:
            made = setting.set_pages(job)
        elif job["do"] == "draw":
            found, made = draw(Path(job["path"]), job["page"], job["longest"])
            answer = {"read": found}
        else:
            answer = {"read": look(Path(job["path"]))}
    except PaperRejected as rejection:
        answer, made = {"refused": rejection.reason, "detail": rejection.detail}, b""
    except MemoryError:
        answer, made = {"refused": "limit", "detail": ""}, b""
    except Exception as error:
        # a fault of ours, which says nothing about the file: the report must name it all the same
        answer, made = (
            {"refused": "fault", "detail": describe_fault(error, most_characters=FAULT_CHARACTERS)},
            b"",
        )
    sys.stdout.buffer.write(json.dumps(answer, separators=(",", ":")).encode("ascii") + b"\n")
    sys.stdout.buffer.write(made)
    sys.stdout.buffer.flush()


def look(path: Path) -> dict[str, Any]:
    """Return kind and sizes of the pages of a file, each in mm as it is seen."""
    kind = find_kind(path)
    sizes = pdf_pages.find_sizes(path) if kind == "pdf" else [photos.find_size(path)]
    return {"kind": kind, "sizes": sizes}


def draw(path: Path, page: int, longest: int) -> tuple[str, bytes]:
    """Draw a page (index) with at most `longest` pixels a side; return its format and bytes."""
    if find_kind(path) == "pdf":
        return "png", pdf_pages.draw(path, page, longest)
    return "jpeg", photos.draw(path, longest)


def find_kind(path: Path) -> str:
    """Judge by the first bytes what a file is.

    Raises:
        PaperRejected: it is something else.
    """
    with path.open("rb") as file:
        start = file.read(1024)
    if start.startswith(photos.PNG_MARK):
        return "png"
    if start.startswith(photos.JPEG_MARK):
        return "jpeg"
    if b"%PDF-" in start:  # readers find it anywhere in the first 1024 bytes (PDF 1.7, annex H)
        return "pdf"
    raise PaperRejected("other")
