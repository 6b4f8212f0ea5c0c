"""The style sheets keep to the tokens: six sizes of type, two weights."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import webapp

SHEETS = Path(webapp.__file__).parent / "static" / "css"
# A page for somebody without the notebook carries its own sheet and has no tokens.
NAMES = sorted(each.name for each in SHEETS.glob("*.css") if each.name != "hand-out.css")
SIZES = {"hint", "text", "title", "note", "result", "live"}


def declared(name: str, what: str) -> Iterator[str]:
    """Values of a property on the screen; paper has sizes of its own, in points."""
    text = re.sub(r"/\*.*?\*/", "", (SHEETS / name).read_text(encoding="utf-8"), flags=re.DOTALL)
    on_screen = re.sub(r"@media print \{.*?\n\}", "", text, flags=re.DOTALL)
    yield from (each.strip() for each in re.findall(rf"(?<![-\w]){what}:([^;}}]+)", on_screen))


def test_there_are_six_sizes_of_type() -> None:
    tokens = set(re.findall(r"--(\w+): [\d.]+rem", (SHEETS / "tokens.css").read_text("utf-8")))
    assert tokens >= SIZES
    assert tokens - SIZES == {"gap"}


@pytest.mark.parametrize("name", NAMES)
def test_every_size_of_type_is_one_of_the_six(name: str) -> None:
    # em is a part of the type around it; px inside a picture are units of its drawing; a live
    # figure, and the number of an entry, are as large as their place allows
    tokens = "|".join(SIZES)
    fitted = r"var\(--figure\)|clamp\(2rem, 11vw, var\(--result\)\)"
    one_of_them = rf"inherit|var\(--({tokens})\)|[\d.]+em|[\d.]+px|{fitted}"
    sizes = list(declared(name, "font-size"))
    assert [each for each in sizes if not re.fullmatch(one_of_them, each)] == []


@pytest.mark.parametrize("name", NAMES)
def test_there_are_two_weights(name: str) -> None:
    assert set(declared(name, "font-weight")) <= {"400", "700", "inherit"}
