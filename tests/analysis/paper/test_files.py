"""Files with pages of a part through the real child process: shown, refused, stopped."""

from __future__ import annotations

import random
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from analysis.paper import (
    DamagedPaper,
    EmptyPaper,
    EncryptedPaper,
    NotAPage,
    PaperError,
    PaperFault,
    PaperKind,
    PaperTookTooLong,
    PaperTooLarge,
    draw_page,
    look_at_file,
)
from tests.analysis.paper.papers import (
    A4_POINTS,
    bomb_pdf,
    bomb_png,
    circle_pdf,
    endless_pdf,
    locked_pdf,
    pdf,
    photo,
)

LETTER_POINTS = (612.0, 792.0)
SEED = 20261130


def write(folder: Path, content: bytes, name: str = "part.txt") -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def test_a_pdf_is_read_whatever_its_name_with_true_sizes(tmp_path: Path) -> None:
    found = look_at_file(write(tmp_path, pdf(A4_POINTS, LETTER_POINTS), "größe ✓.png"))
    assert found.kind is PaperKind.PDF
    sizes = [(each.width_mm, each.height_mm) for each in found.sizes]
    # ISO 216 and ANSI Y14.1: 210 by 297 mm, 8.5 by 11 inches
    assert sizes == [pytest.approx((210, 297), abs=0.01), pytest.approx((215.9, 279.4), abs=0.01)]


def test_a_turned_page_is_as_wide_as_it_is_seen(tmp_path: Path) -> None:
    (size,) = look_at_file(write(tmp_path, pdf(rotate=90))).sizes
    assert (size.width_mm, size.height_mm) == pytest.approx((297, 210), abs=0.01)


def test_a_page_is_drawn_in_grey_with_its_lines_black(tmp_path: Path) -> None:
    drawing = draw_page(write(tmp_path, pdf()), 0)
    assert drawing.media_type == "image/png"
    picture = Image.open(BytesIO(drawing.content))
    assert picture.mode == "L"
    assert max(picture.size) == 2200
    scale = 2200 / A4_POINTS[1]
    middle = picture.width // 2
    column = picture.crop((middle, 0, middle + 1, picture.height)).tobytes()
    dark = [y / scale for y, shade in enumerate(column) if shade < 128]
    # the lines of `pdf` lie 100, 106 ... 124 points below the top
    assert {round(y) for y in dark} >= {100, 106, 112, 118, 124}


@pytest.mark.parametrize(("kind", "value"), [("PNG", PaperKind.PNG), ("JPEG", PaperKind.JPEG)])
def test_a_photo_is_upright_by_what_the_camera_noted(
    tmp_path: Path, kind: str, value: PaperKind
) -> None:
    path = write(tmp_path, photo(kind, turned=True, note="at home"))
    found = look_at_file(path)
    assert found.kind is value
    (size,) = found.sizes
    assert (size.width_mm, size.height_mm) == pytest.approx((210, 280), abs=0.01)  # 3 by 4 in A4
    drawing = draw_page(path, 0)
    assert drawing.media_type == "image/jpeg"
    assert b"at home" not in drawing.content
    picture = Image.open(BytesIO(drawing.content)).convert("L")
    # the dark corner was at the top left of what the camera saw, and lies at the top right now
    corners = [picture.getpixel((x, 5)) for x in (5, picture.width - 5)]
    assert corners == [pytest.approx(255, abs=4), pytest.approx(0, abs=4)]


REFUSALS: list[tuple[bytes, type[PaperError], str]] = [
    (b"", EmptyPaper, "This file is empty"),
    (b"<score-partwise/>", NotAPage, "no PDF, PNG or JPEG"),
    (b"GIF89a" + bytes(40), NotAPage, "no PDF, PNG or JPEG"),
    (b"%PDF-1.7\n", DamagedPaper, "This PDF breaks off"),
    (pdf()[:120], DamagedPaper, "This PDF breaks off"),
    (locked_pdf(), EncryptedPaper, "opens with a password only"),
    (pdf((72.0, 14_400.0)), PaperTooLarge, "page 1 is 5.1 m long"),
    (pdf((595.0, 842.0), (10.0, 842.0)), PaperTooLarge, "page 2 is 3.5 mm wide"),
    (pdf(*[A4_POINTS] * 3000), PaperTooLarge, "3,000 pages; up to 120"),
    (circle_pdf(), PaperError, "no pages|breaks off"),
    (photo("JPEG")[:600], DamagedPaper, "This picture breaks off"),
    (photo("PNG")[:400], DamagedPaper, "This picture breaks off"),
    (bomb_png(), PaperTooLarge, "3,600 megapixels; up to 60"),
    (photo("PNG", (4000, 20)), NotAPage, "a strip and no page"),
]


@pytest.mark.parametrize(("content", "kind", "cause"), REFUSALS)
def test_a_refusal_names_the_cause_and_no_path(
    tmp_path: Path, content: bytes, kind: type[PaperError], cause: str
) -> None:
    path = write(tmp_path, content)
    with pytest.raises(kind, match=cause) as refusal:
        look_at_file(path)
    assert str(tmp_path) not in str(refusal.value)


@pytest.mark.parametrize("content", [bomb_pdf(), endless_pdf()], ids=["picture", "forms"])
def test_a_bomb_in_a_pdf_is_shown_or_stopped_within_the_limits(
    tmp_path: Path, content: bytes
) -> None:
    try:
        found = look_at_file(write(tmp_path, content), timeout_s=4.0)
    except (PaperTookTooLong, DamagedPaper):
        return
    assert len(found.sizes) == 1


def test_work_that_takes_too_long_is_stopped(tmp_path: Path) -> None:
    with pytest.raises(PaperTookTooLong, match="limits of time and memory"):
        draw_page(write(tmp_path, pdf()), 0, timeout_s=0.0)


def test_a_page_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EmptyPaper, match="not in the file"):
        draw_page(write(tmp_path, pdf()), 7)


def mutate(content: bytes, seed: int) -> bytes:
    """Change, cut out or double some stretches of a file."""
    chance = random.Random(seed)
    changed = bytearray(content)
    for _ in range(chance.randint(1, 12)):
        at = chance.randrange(len(changed))
        to = min(len(changed), at + chance.randint(1, 40))
        kind = chance.randrange(3)
        if kind == 0:
            changed[at] = chance.randrange(256)
        elif kind == 1 and len(changed) > 200:
            del changed[at:to]
        else:
            changed[at:at] = changed[at:to]
    return bytes(changed)


def check_mutants(folder: Path, count: int) -> None:
    sound = (pdf(A4_POINTS, LETTER_POINTS), photo("PNG"), photo("JPEG", turned=True))
    for number in range(count):
        path = write(folder, mutate(sound[number % 3], SEED + number))
        try:
            found = look_at_file(path)
            for page in range(len(found.sizes)):
                draw_page(path, page)
        except PaperFault as fault:  # a refusal without a name is none
            raise AssertionError(f"mutant {number}: {fault.__notes__}") from fault
        except PaperError:
            continue


def test_a_few_mutants_are_shown_or_refused_by_name(tmp_path: Path) -> None:
    check_mutants(tmp_path, 6)


@pytest.mark.long_run
def test_many_mutants_are_shown_or_refused_by_name(tmp_path: Path) -> None:
    check_mutants(tmp_path, 300)
