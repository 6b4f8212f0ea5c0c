"""Photos and scans of a page, in the child: PNG and JPEG, upright by what the camera noted.

What else the camera noted (place, time, device) goes into no picture that is made here.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from analysis.paper.bounds import (
    MOST_PIXELS,
    PHOTO_LONG_MM,
    PHOTO_SHORT_MM,
    SHORTEST_SIDE_MM,
    PaperRejected,
)

PNG_MARK = b"\x89PNG\r\n\x1a\n"
JPEG_MARK = b"\xff\xd8\xff"
_FORMATS = ("PNG", "JPEG")
_SCREEN_QUALITY, _PAPER_QUALITY = 85, 95
_TRIED_PIXELS = 200

Image.MAX_IMAGE_PIXELS = None  # the bound is ours, and refused before anything is decoded


def find_size(path: Path) -> tuple[float, float]:
    """Return width and height in mm that a photo has on paper, upright; it is decoded once.

    Raises:
        PaperRejected: it cannot be read, or is beyond the bounds.
    """
    with _opened(path) as photo:
        photo.draft("RGB", (_TRIED_PIXELS, _TRIED_PIXELS))
        upright = _upright(photo)
        scale = min(PHOTO_LONG_MM / max(upright.size), PHOTO_SHORT_MM / min(upright.size))
        width, height = (side * scale for side in upright.size)
    if min(width, height) < SHORTEST_SIDE_MM:
        raise PaperRejected("narrow")
    return round(width, 3), round(height, 3)


def draw(path: Path, longest: int) -> bytes:
    """Return a photo as JPEG, upright, no side longer than `longest` pixels.

    Raises:
        PaperRejected: it cannot be read.
    """
    with _opened(path) as photo:
        photo.draft("RGB", (longest, longest))
        upright = _upright(photo)
        upright.thumbnail((longest, longest))
        return _write(upright, "JPEG", _SCREEN_QUALITY)


def write_for_paper(path: Path) -> tuple[str, bytes]:
    """Return format and bytes of a photo as it is printed: whole, upright, nothing else in it.

    Raises:
        PaperRejected: it cannot be read.
    """
    with _opened(path) as photo:
        kind = str(photo.format)
        return kind.lower(), _write(_upright(photo), kind, _PAPER_QUALITY)


@contextmanager
def _opened(path: Path) -> Iterator[Image.Image]:
    try:
        with Image.open(path, formats=_FORMATS) as photo:
            if photo.width * photo.height > MOST_PIXELS:
                raise PaperRejected("pixels", f"{photo.width * photo.height / 1e6:,.0f}")
            yield photo
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError) as error:
        # the ways in which the library says that a file is damaged
        raise PaperRejected("damaged", "picture") from error


def _upright(photo: Image.Image) -> Image.Image:
    photo.load()
    turned = ImageOps.exif_transpose(photo)
    if turned.mode in ("RGBA", "LA", "PA", "P"):  # what shines through is paper
        seen = turned.convert("RGBA")
        paper = Image.new("RGBA", seen.size, "white")
        return Image.alpha_composite(paper, seen).convert("RGB")
    return turned.convert("L" if turned.mode in ("1", "L") else "RGB")


def _write(picture: Image.Image, kind: str, quality: int) -> bytes:
    stream = BytesIO()
    bare = Image.frombytes(picture.mode, picture.size, picture.tobytes())
    if kind == "PNG":
        bare.save(stream, kind)
    else:
        bare.save(stream, kind, quality=quality)
    return stream.getvalue()
