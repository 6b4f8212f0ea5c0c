"""Pages of an untrusted PDF, in the child: their sizes, and each as a picture for the screen."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

import pypdfium2
import pypdfium2.raw as pdfium
from PIL import Image, ImageChops

from analysis.paper.bounds import (
    LONGEST_SIDE_MM,
    MM_PER_POINT,
    MOST_PAGES,
    SHORTEST_SIDE_MM,
    PaperRejected,
)

_TRIED_PIXELS = 200
_PASSWORD = pdfium.FPDF_ERR_PASSWORD


def find_sizes(path: Path) -> list[tuple[float, float]]:
    """Return width and height of each page in mm, as it is seen; every page is drawn once.

    Raises:
        PaperRejected: it cannot be read, is locked, or is beyond the bounds.
    """
    with _opened(path) as document:
        if len(document) == 0:
            raise PaperRejected("no pages")
        if len(document) > MOST_PAGES:
            raise PaperRejected("pages", f"{len(document):,}")
        sizes = [_size_of(document, index) for index in range(len(document))]
        for index in range(len(document)):
            _render(document, index, _TRIED_PIXELS)
    return sizes


def draw(path: Path, index: int, longest: int) -> bytes:
    """Return a page as PNG, its longer side of `longest` pixels.

    Raises:
        PaperRejected: there is no such page, or it cannot be drawn.
    """
    with _opened(path) as document:
        if not 0 <= index < len(document):
            raise PaperRejected("no such page")
        picture = _render(document, index, longest)
    stream = BytesIO()
    _without_colour(picture).save(stream, "PNG")
    return stream.getvalue()


def write_plainly(path: Path) -> bytes:
    """Return the pages written anew, for a file that only the renderer can read.

    Raises:
        PaperRejected: it cannot be read.
    """
    with _opened(path) as document:
        fresh = pypdfium2.PdfDocument.new()
        fresh.import_pages(document)
        stream = BytesIO()
        fresh.save(stream)
    return stream.getvalue()


@contextmanager
def _opened(path: Path) -> Iterator[pypdfium2.PdfDocument]:
    try:
        document = pypdfium2.PdfDocument(path)
    except pypdfium2.PdfiumError as error:
        is_locked = getattr(error, "err_code", None) == _PASSWORD
        raise PaperRejected("encrypted" if is_locked else "damaged", "PDF") from error
    try:
        yield document
    finally:
        document.close()


def _size_of(document: pypdfium2.PdfDocument, index: int) -> tuple[float, float]:
    try:
        width, height = (side * MM_PER_POINT for side in document.get_page_size(index))
    except pypdfium2.PdfiumError as error:
        raise PaperRejected("damaged", "PDF") from error
    if max(width, height) > LONGEST_SIDE_MM:
        raise PaperRejected("large page", f"page {index + 1} is {max(width, height) / 1000:,.1f} m")
    if min(width, height) < SHORTEST_SIDE_MM:
        raise PaperRejected("small page", f"page {index + 1} is {min(width, height):.1f} mm")
    return round(width, 3), round(height, 3)


def _render(document: pypdfium2.PdfDocument, index: int, longest: int) -> Image.Image:
    try:
        page = document[index]
        scale = longest / max(page.get_size())
        picture: Image.Image = page.render(scale=scale, may_draw_forms=False).to_pil()
    except pypdfium2.PdfiumError as error:
        raise PaperRejected("damaged", "PDF") from error
    return picture


def _without_colour(picture: Image.Image) -> Image.Image:
    """Return a picture in grey where it has no colour, as notes seldom have."""
    plain = picture.convert("RGB")
    grey = plain.convert("L")
    is_grey = ImageChops.difference(plain, grey.convert("RGB")).getbbox() is None
    return grey if is_grey else plain
