"""Draw the icons of the installed app from the one design: `python -m tests.icons`.

The files in webapp/static/icons/ are made by this and committed. Where a system cuts an icon to
its own shape (maskable icons of the Web Application Manifest; the touch icon of iPadOS), the ground
goes to the edges; the ring stays inside the safe zone, a circle with a radius of 40 % of the width.
"""

import tempfile
from pathlib import Path

import typst

STATIC = Path(__file__).resolve().parent.parent / "webapp" / "static"
ROUNDED = '<rect width="32" height="32" rx="6"'
FULL = '<rect width="32" height="32"'
ICONS = {
    "icon-192.png": (192, ROUNDED),
    "icon-512.png": (512, ROUNDED),
    "maskable-512.png": (512, FULL),
    "touch-180.png": (180, FULL),
}


def draw_icon(name: str) -> bytes:
    """Draw one of the icons as PNG."""
    dots, ground = ICONS[name]
    design = (STATIC / "icon.svg").read_text("utf-8")
    assert ROUNDED in design, "icon.svg has another ground than this script knows"
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "icon.svg").write_text(design.replace(ROUNDED, ground), "utf-8")
        page = Path(folder) / "icon.typ"
        page.write_text(
            "#set page(width: 72pt, height: 72pt, margin: 0pt, fill: none)\n"
            '#image("icon.svg", width: 72pt)\n',
            "utf-8",
        )
        drawn = typst.compile(page, format="png", ppi=float(dots))
    assert isinstance(drawn, bytes)
    return drawn


def main() -> None:
    """Write every icon."""
    folder = STATIC / "icons"
    folder.mkdir(exist_ok=True)
    for name in ICONS:
        (folder / name).write_bytes(draw_icon(name))


if __name__ == "__main__":
    main()
