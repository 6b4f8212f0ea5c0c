"""Errors about pages of a part, one class for each thing that a player can do something about.

::

    AnalysisError
    +-- PaperError
        +-- NotAPage          something else: a score file, a sound, a web page, another picture
        +-- EmptyPaper        no bytes, or no page in it
        +-- EncryptedPaper    the PDF opens with a password only
        +-- PaperTooLarge     more bytes, pages, pixels or a larger page than are read
        +-- DamagedPaper      breaks off, or is no valid PDF, PNG or JPEG
        +-- PaperTookTooLong  stopped at its limit of time or memory
        +-- PaperFault        this program failed; the file may be sound

Messages hold no path and no file name: the caller knows which file it asked about.
"""

from analysis.errors import AnalysisError


class PaperError(AnalysisError):
    """Base of everything `analysis.paper` raises on purpose."""


class NotAPage(PaperError):
    """The content is no PDF, PNG or JPEG."""


class EmptyPaper(PaperError):
    """There are no bytes, or there is no page."""


class EncryptedPaper(PaperError):
    """The PDF opens with a password only."""


class PaperTooLarge(PaperError):
    """More bytes, pages or pixels than are read, or a page beyond any part's."""


class DamagedPaper(PaperError):
    """The file breaks off or is not valid."""


class PaperTookTooLong(PaperError):
    """Work on the file reached its limit of time or memory and was stopped."""


class PaperFault(PaperError):
    """This program failed, which says nothing about the file."""
