"""Pages of a printed part: untrusted PDF, PNG and JPEG files, read in child processes with limits.

`files` is the parent's side: look at a file, draw one of its pages, set marks above its pages.
`child` does each of these jobs, one to a process. Lengths on a page are in millimetres, from its
left and its top, as it is seen.
"""

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
from analysis.paper.files import (
    Drawing,
    PageSize,
    PaperFile,
    PaperKind,
    draw_page,
    look_at_file,
    set_above,
)

__all__ = [
    "DamagedPaper",
    "Drawing",
    "EmptyPaper",
    "EncryptedPaper",
    "NotAPage",
    "PageSize",
    "PaperError",
    "PaperFault",
    "PaperFile",
    "PaperKind",
    "PaperTooLarge",
    "PaperTookTooLong",
    "draw_page",
    "look_at_file",
    "set_above",
]
