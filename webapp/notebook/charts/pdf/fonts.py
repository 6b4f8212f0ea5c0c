"""The fonts a chart is set in: the same on every computer, so the same chart has the same bytes.

FiraGO (Latin, Greek, Cyrillic, Arabic, Hebrew, Thai) sets the text, three Noto fonts add signs; all
come from the `pymupdf-fonts` package (SIL Open Font License) and are written to a folder of this
process, because the typesetter reads fonts from files.

A character that none of them has is looked for among the computer's own fonts, and failing that is
set in a font made on the spot: a box with the character's Unicode number in it. So every character
is on the page, can be copied as itself, and the page stays accessible. Only a chart that needs the
computer's own fonts can differ between two computers.
"""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from webapp.notebook.charts.pdf.boxes import build_box_font

if TYPE_CHECKING:
    import typst

FAMILIES = ("FiraGO", "Noto Sans Math", "Noto Sans Symbols", "Noto Sans Symbols2", "Noto Music")
# The package's own short names for the fonts.
_SHIPPED = ("figo", "figbo", "figit", "math", "symbol1", "symbol2", "music")


@lru_cache(maxsize=1)
def load_shipped_fonts() -> typst.Fonts:
    """The fonts that come with the app, and no others."""
    return _load([shipped_folder()], is_system_included=False)


@lru_cache(maxsize=1)
def load_system_fonts() -> typst.Fonts:
    """The fonts that come with the app, then whatever this computer has."""
    return _load([shipped_folder()], is_system_included=True)


@contextmanager
def load_fonts_with_boxes(text: str) -> Iterator[typst.Fonts]:
    """The fonts that come with the app, and a numbered box for every other character of `text`.

    The typesetter reads a font when it first needs it, so the made font's file stays until the end
    of the `with` block.
    """
    missing = {ord(character) for character in text} - _shipped_characters()
    with tempfile.TemporaryDirectory(prefix="quartervent-boxes-") as folder:
        Path(folder, "boxes.ttf").write_bytes(build_box_font(missing))
        yield _load([shipped_folder(), Path(folder)], is_system_included=False)


def _load(folders: list[Path], *, is_system_included: bool) -> typst.Fonts:
    import typst

    return typst.Fonts(
        include_system_fonts=is_system_included,
        include_embedded_fonts=False,
        font_paths=[str(folder) for folder in folders],
    )


@lru_cache(maxsize=1)
def shipped_folder() -> Path:
    """The folder of the fonts that come with the app, made once and gone with this process."""
    import pymupdf_fonts

    folder = Path(tempfile.mkdtemp(prefix="quartervent-fonts-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for name in _SHIPPED:
        (folder / f"{name}.ttf").write_bytes(pymupdf_fonts.myfont(name))
    return folder


@lru_cache(maxsize=1)
def _shipped_characters() -> frozenset[int]:
    """What each of the fonts has; the three cuts of FiraGO count only where they all do."""
    from fontTools.ttLib import TTFont

    has = {
        name: frozenset(
            TTFont(BytesIO((shipped_folder() / f"{name}.ttf").read_bytes())).getBestCmap()
        )
        for name in _SHIPPED
    }
    in_every_cut = has["figo"] & has["figbo"] & has["figit"]
    return in_every_cut.union(*(has[name] for name in _SHIPPED[3:]))
