"""Files with pages of a part: untrusted bytes to sizes, pictures and a PDF, in child processes.

Read: PDF, PNG and JPEG, judged by content. Up to 64 MB, 120 pages of at most 1.5 m, 60 megapixels,
20 s of processor time, 768 MB of memory. The time limit holds everywhere; processor and memory
limits on POSIX systems.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, NoReturn

from analysis.paper.bounds import MOST_BYTES, MOST_PAGES, MOST_PIXELS
from analysis.paper.errors import (
    DamagedPaper,
    EmptyPaper,
    EncryptedPaper,
    NotAPage,
    PaperError,
    PaperFault,
    PaperTookTooLong,
    PaperTooLarge,
)
from analysis.sandbox.child_processes import (
    child_code,
    isolated_command,
    met_limit,
    start_child,
)

TIMEOUT_S = 40.0
LONGEST_PIXELS = 2200
_CHILD_CODE = child_code("analysis.paper.child")
_NEEDS = ("analysis", "pypdfium2", "pypdfium2_raw", "PIL", "typst")
_SAVE_AGAIN = "Save it again as PDF, or take a photo of the page."
_SAVE_ALONE = "Save the pages of your part alone, and choose that file."


class PaperKind(StrEnum):
    """Kind of a file; the value is its ending."""

    PDF = "pdf"
    PNG = "png"
    JPEG = "jpeg"


@dataclass(frozen=True, slots=True)
class PageSize:
    """Width and height of a page in mm, as it is seen."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class PaperFile:
    """A file that can be shown: what it is, and the sizes of its pages."""

    kind: PaperKind
    sizes: tuple[PageSize, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A page as a picture for the screen: PNG, or JPEG of a photo."""

    content: bytes
    media_type: str


def look_at_file(path: Path, *, timeout_s: float = TIMEOUT_S) -> PaperFile:
    """Return what the file at `path` is, however it is named; each page is drawn once.

    Raises a `PaperError` that names the cause; a missing file raises OSError.
    """
    size = path.stat().st_size
    if size == 0:
        raise EmptyPaper("This file is empty. Choose the PDF or the photo itself.")
    if size > MOST_BYTES:
        raise PaperTooLarge(
            f"This file has {size / 1e6:.0f} MB; up to {MOST_BYTES / 1e6:.0f} are read. "
            f"{_SAVE_ALONE}"
        )
    found, _ = _ask({"do": "look", "path": str(path.absolute())}, timeout_s)
    return PaperFile(
        PaperKind(found["kind"]), tuple(PageSize(float(w), float(h)) for w, h in found["sizes"])
    )


def draw_page(path: Path, page: int, *, timeout_s: float = TIMEOUT_S) -> Drawing:
    """Return a page (index) of the file at `path` as a picture for the screen.

    Raises a `PaperError` that names the cause; a missing file raises OSError.
    """
    path.stat()
    job = {"do": "draw", "path": str(path.absolute()), "page": page, "longest": LONGEST_PIXELS}
    found, content = _ask(job, timeout_s)
    return Drawing(content, f"image/{found}")


def set_above(
    files: Sequence[tuple[Path, PaperKind, str]],
    *,
    folder: Path,
    template: str,
    fonts: Path,
    fed: Mapping[str, Any],
    moment_s: int,
    timeout_s: float = TIMEOUT_S,
) -> bytes:
    """Set a template over the pages of files and return the PDF; the same again, the same bytes.

    Args:
        files: path, kind and the name under which the template takes each in.
        folder: an empty place of the caller's with the template and what it imports; the files
            come into it.
        template: name of the template in the folder.
        fonts: the folder of the fonts.
        fed: what the template is told, as JSON under the name `chart`.
        moment_s: the date inside the PDF, in seconds since 1970.
        timeout_s: how long it may take.

    Raises a `PaperError` that names the cause.
    """
    job = {
        "do": "set",
        "folder": str(folder),
        "template": template,
        "fonts": str(fonts),
        "fed": fed,
        "moment": moment_s,
        "files": [
            {"path": str(path.absolute()), "kind": kind.value, "name": name}
            for path, kind, name in files
        ],
    }
    return _ask(job, timeout_s)[1]


def _ask(job: Mapping[str, Any], timeout_s: float) -> tuple[Any, bytes]:
    """Let a child do a job; return what it read and the bytes it made."""
    with start_child(isolated_command(_CHILD_CODE, _NEEDS)) as child:
        child.hand_over(json.dumps(job).encode("ascii"))
        exit_code = child.wait(timeout_s)
        if exit_code is None or met_limit(exit_code):
            raise _stopped()
        child.output.seek(0)
        output = child.output.read() if exit_code == 0 else b""
    line, _, made = output.partition(b"\n")
    if not line:
        raise DamagedPaper(f"This file is damaged in a way that ended the reader. {_SAVE_AGAIN}")
    answer = json.loads(line)
    if "refused" in answer:
        _refuse(str(answer["refused"]), str(answer["detail"]))
    return answer["read"], made


def _stopped() -> PaperTookTooLong:
    return PaperTookTooLong(
        "This file could not be drawn within the limits of time and memory. Print its pages to a "
        "new PDF, or take photos of them."
    )


# The reason's name: the class, and the sentence with the detail in it.
_REFUSALS: dict[str, tuple[type[PaperError], str]] = {
    "other": (NotAPage, "This is no PDF, PNG or JPEG. Choose the part in one of these forms."),
    "no pages": (EmptyPaper, f"This PDF has no pages. {_SAVE_AGAIN}"),
    "no such page": (EmptyPaper, "This page is not in the file."),
    "encrypted": (
        EncryptedPaper, "This PDF opens with a password only. Print it to a PDF without one."
    ),
    "pages": (
        PaperTooLarge, f"This PDF has {{detail}} pages; up to {MOST_PAGES} are read. {_SAVE_ALONE}"
    ),
    "large page": (
        PaperTooLarge,
        "A page is too large: {detail} long, which no part needs. Print it to A4 or Letter.",
    ),
    "small page": (
        PaperTooLarge, f"A page is too small to be read: {{detail}} wide. {_SAVE_AGAIN}"
    ),
    "narrow": (NotAPage, "This picture is a strip and no page. Take a photo of the whole page."),
    "pixels": (
        PaperTooLarge,
        f"This picture has {{detail}} megapixels; up to {MOST_PIXELS // 1_000_000} are read. Make "
        "it smaller, or take a photo with fewer.",
    ),
    "damaged": (DamagedPaper, f"This {{detail}} breaks off or is damaged. {_SAVE_AGAIN}"),
}  # fmt: skip


def _refuse(reason: str, detail: str) -> NoReturn:
    if reason == "limit":
        raise _stopped()
    if reason not in _REFUSALS:
        fault = PaperFault(
            "This program failed while it worked on the file, which may be sound. Print its pages "
            "to a new PDF, and try that."
        )
        fault.add_note(f"In the child: {detail}")
        raise fault
    kind, words = _REFUSALS[reason]
    raise kind(words.format(detail=detail))
