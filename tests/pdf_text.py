"""Text of PDFs as PDFium reads it: thirty times as quick as a reader in Python."""

from contextlib import closing

import pypdfium2

HYPHEN_MARK = "\ufffe"  # PDFium's word for a hyphen at the end of a line


def read_pages(pdf: bytes) -> list[str]:
    """The text of each page, its white space made single spaces."""
    with closing(pypdfium2.PdfDocument(pdf)) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    return [" ".join(each.replace(HYPHEN_MARK, "-").split()) for each in texts]


def read_text(pdf: bytes) -> str:
    """All text of a PDF, its white space made single spaces."""
    return " ".join(read_pages(pdf))
