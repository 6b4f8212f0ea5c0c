"""The picture that leaves the notebook: what stands on it, in black, with signs as outlines."""

import re
import xml.etree.ElementTree as ET

import pytest

from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import NoteNames, WrittenPitch
from tests.webapp.drawing.labels import SVG
from webapp.drawing.fingering_file import Heading, draw_fingering_file
from webapp.drawing.glyphs import load_glyph

SOPRANO = load_layout("soprano-17-6")
KEYS = parse_fingering("T R 123 | 123 | left F#", SOPRANO)
WRITTEN = WrittenPitch.from_canonical("D5-50c")
FULL = Heading(
    written=WRITTEN, has_staff=True, has_name=True, offset_cents=-3.4, uncertainty_cents=1.6,
    instrument="Invented B-flat soprano with a rather long name for its pear wood barrel",
)  # fmt: skip


def parse(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def texts(root: ET.Element) -> list[str]:
    return [one.text or "" for one in root.iter(f"{SVG}text")]


def test_without_a_heading_it_is_the_picture_of_the_keys_alone() -> None:
    root = parse(draw_fingering_file(KEYS, Heading(written=WRITTEN)))
    box = [float(part) for part in root.attrib["viewBox"].split()]
    assert tuple(box) == SOPRANO.view_box
    assert load_glyph(0xE050).path not in [one.get("d") for one in root.iter(f"{SVG}path")]


def test_the_whole_heading_stands_above_the_keys_and_is_said() -> None:
    root = parse(draw_fingering_file(KEYS, FULL))
    x, y, width, height = (float(part) for part in root.attrib["viewBox"].split())
    assert (x, width) == (SOPRANO.view_box[0], 240)
    assert y < SOPRANO.view_box[1] and y + height == pytest.approx(
        SOPRANO.view_box[1] + SOPRANO.view_box[3]
    )
    shown = texts(root)
    assert shown[:2] == ["D", "5"]
    assert "sounds −3 ± 2 cents" in shown
    outlines = [one.get("d") for one in root.iter(f"{SVG}path")]
    # the quarter-flat sign stands on the staff and in the name
    assert outlines.count(load_glyph(0xE280).path) == 2
    assert load_glyph(0xE050).path in outlines
    desc = root.find(f"{SVG}desc")
    assert desc is not None and desc.text is not None
    for words in ("D quarter-flat 5", "thumb and register", "sounds −3 ± 2", "pear wood"):
        assert words in desc.text


def test_all_ink_is_black_and_no_sign_is_a_letter() -> None:
    svg = draw_fingering_file(KEYS, FULL)
    assert set(re.findall(r"#[0-9a-f]{3,6}", svg)) == {"#000000", "#ffffff"}
    assert not re.search("[♯♭♮]", "".join(texts(parse(svg))))
    root = parse(svg)
    inherited = [one for one in root.iter() if one.get("fill") == "currentColor"]
    coloured = [one for group in root.iter() if group.get("color") for one in group.iter()]
    assert inherited and all(one in coloured for one in inherited)


@pytest.mark.parametrize(
    ("note", "name"), [("F#5", ["F", "5"]), ("A4+16c", ["A4 +16"]), ("Bb4-30c", ["B", "4 +20"])]
)
def test_the_name_has_its_sign_and_what_is_left_over(note: str, name: list[str]) -> None:
    heading = Heading(written=WrittenPitch.from_canonical(note), has_name=True)
    assert texts(parse(draw_fingering_file(KEYS, heading)))[: len(name)] == name


@pytest.mark.parametrize(
    ("note", "names", "name"),
    [
        ("Eb5", NoteNames.GERMAN, ["Es5"]),
        ("B4", NoteNames.GERMAN, ["H4"]),
        ("Bb4", NoteNames.GERMAN, ["B4"]),
        ("B4-50c", NoteNames.GERMAN, ["H", "4"]),
        ("Eb5", NoteNames.ROMANCE, ["mi", "5"]),
        ("A5", NoteNames.ROMANCE, ["la5"]),
    ],
)
def test_the_name_is_in_the_players_language(note: str, names: NoteNames, name: list[str]) -> None:
    heading = Heading(written=WrittenPitch.from_canonical(note), has_name=True)
    drawn = draw_fingering_file(KEYS, heading, names=names)
    assert [text.strip() for text in texts(parse(drawn))[: len(name)]] == name


def test_a_long_name_of_an_instrument_is_cut_and_stays_on_the_sheet() -> None:
    heading = Heading(instrument="word " * 200)
    root = parse(draw_fingering_file(KEYS, heading))
    lines = [text for text in texts(root) if text.startswith("word")]
    assert len(lines) == 3
    assert lines[-1].endswith("…")


def test_small_print_makes_it_a_card() -> None:
    heading = Heading(written=WRITTEN, has_name=True, remarks=("Reed: 3", "A. Player, 1 Mar 2026"))
    root = parse(draw_fingering_file(KEYS, heading))
    assert {"Reed: 3", "A. Player, 1 Mar 2026"} <= set(texts(root))
    assert "A. Player, 1 Mar 2026" in (root.findtext(f"{SVG}desc") or "")
