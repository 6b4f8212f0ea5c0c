"""The frame of the levels, and the picture in it."""

import struct
import xml.etree.ElementTree as ET
import zlib

import numpy as np
import pytest

from analysis.recording.spectrogram import View
from webapp.drawing.levels import NoteTick, draw_levels, ink_levels
from webapp.drawing.png import write_grey_png

SVG = "{http://www.w3.org/2000/svg}"
VIEW = View(0.5, 1.5, 220.0, 1760.0)
NOTES = (NoteTick(220.0, "A3"), NoteTick(440.0, "A4"), NoteTick(1760.0, "A6"))


def draw(notes: tuple[NoteTick, ...] = NOTES) -> ET.Element:
    return ET.fromstring(draw_levels(VIEW, image_href="/x.png?a=1&b=2", notes=notes))


def test_octaves_are_equally_high() -> None:
    heights = {
        text.text: float(text.get("y", ""))
        for text in draw().iter(f"{SVG}text")
        if (text.text or "").startswith("A")
    }
    # three octaves in all: A4 is one third of the way up
    share = (heights["A3"] - heights["A4"]) / (heights["A3"] - heights["A6"])
    assert share == pytest.approx(1 / 3, abs=0.01)


def test_names_that_would_run_into_each_other_give_way() -> None:
    crowded = tuple(NoteTick(220.0 * 2 ** (n / 120), f"A{n}") for n in range(60))
    drawn = [text for text in draw(crowded).iter(f"{SVG}text") if text.text != "s"]
    heights = sorted(float(t.get("y", "")) for t in drawn if (t.text or "").startswith("A"))
    assert len(heights) > 1
    assert min(np.diff(heights)) >= 12.9


def test_the_picture_has_words_and_an_address_that_is_text() -> None:
    root = draw()
    (image,) = root.iter(f"{SVG}image")
    assert image.get("href") == "/x.png?a=1&b=2"
    words = root.findtext(f"{SVG}desc") or ""
    assert "0.50 to 1.50 s" in words
    assert "A3 to A6" in words
    assert root.get("data-time") == "0.5 1.5 52 332"


def test_the_loudest_is_ink_and_the_floor_is_paper() -> None:
    levels = np.array([[0.0, -80.0, -200.0, 3.0]], dtype=np.float32)
    assert ink_levels(levels).tolist() == [[0, 255, 255, 0]]


def test_the_file_is_a_png_with_these_very_dots() -> None:
    # Read by the rules of the PNG specification: chunks, CRC, zlib, filter 2 ("up").
    dots = np.random.default_rng(3).integers(0, 256, (5, 7), dtype=np.uint8)
    content = write_grey_png(dots)
    assert content[:8] == bytes([137, 80, 78, 71, 13, 10, 26, 10])
    place, chunks = 8, {}
    while place < len(content):
        length, kind = struct.unpack(">I4s", content[place : place + 8])
        body = content[place + 8 : place + 8 + length]
        (check,) = struct.unpack(">I", content[place + 8 + length : place + 12 + length])
        assert check == zlib.crc32(kind + body)
        chunks[kind] = body
        place += 12 + length
    assert list(chunks) == [b"IHDR", b"IDAT", b"IEND"]
    assert struct.unpack(">IIBBBBB", chunks[b"IHDR"]) == (7, 5, 8, 0, 0, 0, 0)
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), dtype=np.uint8).reshape(5, 8)
    assert set(rows[:, 0]) == {2}
    assert np.array_equal(np.cumsum(rows[:, 1:], axis=0, dtype=np.uint8), dots)
