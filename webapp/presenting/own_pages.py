"""Pictures of own pages: a page of the part with what is played drawn on it, as one SVG.

The unit of the picture is a millimetre of the page. Marks have numbers by which a script moves
them; what they say stands in the list beside the picture.
"""

import xml.etree.ElementTree as ET

from flask import url_for
from markupsafe import Markup

from webapp.drawing.svg import SVG_NAMESPACE, element, number, render
from webapp.notebook.own_pages.choosing import ShownMark
from webapp.notebook.own_pages.marks import DRAWING_MM, LETTER_MM
from webapp.notebook.own_pages.opening import ShownPage
from webapp.presenting.pictures import fingering_picture
from webapp.presenting.text_direction import isolate_plain

OPEN_SIGN = "?"
_LETTER_SIZE = 3.6
_BASELINE = 0.36
_RING_MM = 0.8


def page_picture(page: ShownPage, title: str, *, is_marked: bool = True) -> Markup:
    """Draw a page with its marks; without them where it only lies below."""
    size = page.size
    root = element(
        "svg",
        viewBox=f"0 0 {number(size.width_mm)} {number(size.height_mm)}",
        xmlns=SVG_NAMESPACE,
        role="img",
        class_="own-page",
        aria_label=_describe(page, title),
        data_page=page.number,
    )
    address = url_for(
        "own_pages.picture", piece_id=page.file.piece_id, file_id=page.file.id, page=page.index
    )
    root.append(element("image", href=address, width=size.width_mm, height=size.height_mm))
    drawn = "".join(_draw_mark(each) for each in page.marks) if is_marked else ""
    text = render(root)
    return Markup(text.removesuffix("</svg>") + drawn + "</svg>")


def _describe(page: ShownPage, title: str) -> str:
    count = len(page.marks)
    marks = "1 mark" if count == 1 else f"{count} marks"
    return f"Page {page.number} of {isolate_plain(title)}, {marks}"


def _draw_mark(shown: ShownMark) -> str:
    """Draw what is played at a mark; the group is moved as a whole."""
    mark, keys = shown.mark, shown.keys
    parts, height, half = "", LETTER_MM, LETTER_MM / 2
    if keys is not None and shown.is_drawn:
        x, y, width, tall = keys.layout.view_box
        del x, y
        height, half = DRAWING_MM, DRAWING_MM * width / tall / 2
        picture = str(fingering_picture(keys, is_small=True))
        place = f'<svg x="{number(-half)}" y="{number(-height)}" width="{number(2 * half)}"'
        parts = picture.replace("<svg ", f'{place} height="{number(height)}" ', 1)
        if shown.letter:
            parts += _write_letter(shown.letter, 0, -height)
    else:
        parts = _write_letter(shown.letter or OPEN_SIGN, 0, 0)
    if shown.is_changed:
        parts += render(
            element(
                "rect",
                x=-half - _RING_MM,
                y=-height - _RING_MM,
                width=2 * (half + _RING_MM),
                height=height + 2 * _RING_MM,
                rx=1,
                class_="changed-ring",
            )
        )
    # a finger needs more room than the drawing has
    touch = render(
        element(
            "rect", x=-half - 1, y=-height - 1, width=2 * half + 2, height=height + 2,
            class_="mark-touch",
        )
    )  # fmt: skip
    return (
        f'<g class="page-mark" data-mark="{mark.id}" data-x="{mark.x_mm}" data-y="{mark.y_mm}" '
        f'transform="translate({number(mark.x_mm)} {number(mark.y_mm)})">{touch}{parts}</g>'
    )


def _write_letter(letter: str, x: float, y: float) -> str:
    """Write a letter in its box, the foot of which stands at a place."""
    width = LETTER_MM if len(letter) == 1 else LETTER_MM * 1.5
    box = element(
        "rect", x=x - width / 2, y=y - LETTER_MM, width=width, height=LETTER_MM,
        class_="letter-box",
    )  # fmt: skip
    text = element(
        "text", letter, x=x, y=y - LETTER_MM / 2 + _BASELINE * _LETTER_SIZE,
        font_size=_LETTER_SIZE, text_anchor="middle", class_="letter",
    )  # fmt: skip
    return _join(box, text)


def _join(*parts: ET.Element) -> str:
    return "".join(render(each) for each in parts)
