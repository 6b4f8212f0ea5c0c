"""Contact sheets: every page at 390, 820 and 1280 px, by day and by night, to look through.

Run by hand: `python -m tests.browser.contact_sheet [--out FOLDER] [PLACE...]`. Places are those of
`places.py`; without names all are drawn. The pages are those of the filled test notebook.
"""

from __future__ import annotations

import argparse
import base64
import html
import tempfile
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import click
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.places import PLACES
from tests.browser.serving import serve_folder
from tests.browser.visiting import make_visitor
from tests.tools import CHROMIUM_FLAGS, find_chromium
from tests.webapp.logging_rows import Filled, fill
from tests.webapp.notebook.pieces.filling import fill_pieces
from webapp.notebook.opening import open_notebook

SIZES = {390: 844, 820: 1180, 1280: 900}
SCHEMES = ("light", "dark")
MOST_SCREENS = 2
"""How many screens of a long page are drawn."""
ROWS_ON_A_SHEET = 8
THUMB = {390: 190, 820: 250, 1280: 320}
STYLE = """body { margin: 8px; background: #777; font: 14px sans-serif; }
section { display: flex; gap: 6px; align-items: start; margin-bottom: 10px; }
h2 { width: 110px; margin: 0; font-size: 14px; color: #fff; } img { display: block; }"""


@dataclass(frozen=True, slots=True)
class Row:
    """One page: its name, and a picture for each size and scheme."""

    name: str
    pictures: tuple[tuple[int, bytes], ...]

    def markup(self) -> str:
        """The row as HTML, its pictures within."""
        images = "".join(
            f'<img width="{THUMB[width]}" alt="" '
            f'src="data:image/jpeg;base64,{base64.b64encode(picture).decode()}">'
            for width, picture in self.pictures
        )
        return f"<section><h2>{html.escape(self.name)}</h2>{images}</section>"


def draw_sheets(out: Path, names: Sequence[str]) -> list[Path]:
    """Draw the sheets of some places and return their files."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        rows = _fill(Path(folder) / "notebook")
        browser = playwright.chromium.launch(
            executable_path=find_chromium(), args=list(CHROMIUM_FLAGS)
        )
        with serve_folder(Path(folder) / "notebook") as site:
            visitor = make_visitor(browser, site, has_one_tab=True)
            drawn = []
            for name in names:
                drawn.append(Row(name, _draw(PLACES[name](visitor, rows))))
                click.echo(name)
            visitor.context.close()
        return _lay_out(browser, drawn, out)


def _fill(folder: Path) -> Filled:
    with closing(open_notebook(folder)) as notebook:
        rows = fill(notebook)
        fill_pieces(notebook, rows)
    return rows


def _draw(page: Page) -> tuple[tuple[int, bytes], ...]:
    pictures = []
    for scheme in SCHEMES:
        page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
        for width, height in SIZES.items():
            page.set_viewport_size({"width": width, "height": height})
            whole = int(page.evaluate("document.documentElement.scrollHeight"))
            page.set_viewport_size({"width": width, "height": min(whole, MOST_SCREENS * height)})
            pictures.append((width, page.screenshot(type="jpeg", quality=80)))
    return tuple(pictures)


def _lay_out(browser: Browser, rows: Sequence[Row], out: Path) -> list[Path]:
    page = browser.new_page(viewport={"width": 1700, "height": 800})
    made = []
    for first in range(0, len(rows), ROWS_ON_A_SHEET):
        some = "".join(each.markup() for each in rows[first : first + ROWS_ON_A_SHEET])
        page.set_content(f"<style>{STYLE}</style>{some}")
        made.append(out / f"sheet-{first // ROWS_ON_A_SHEET + 1:02d}.png")
        page.screenshot(path=made[-1], full_page=True)
    return made


def main() -> None:
    """Draw what was asked for, and say where it lies."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("contact-sheet"))
    parser.add_argument("places", nargs="*", metavar="PLACE")
    chosen = parser.parse_args()
    for path in draw_sheets(chosen.out, chosen.places or list(PLACES)):
        click.echo(path)


if __name__ == "__main__":
    main()
