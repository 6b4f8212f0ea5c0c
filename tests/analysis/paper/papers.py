"""Files with pages of a part, all made here: sound ones, and hostile ones."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from io import BytesIO

from PIL import Image
from pypdf import PdfReader, PdfWriter

A4_POINTS = (595.276, 841.89)
_ORIENTATION = 0x0112
_TURNED_RIGHT = 6  # EXIF 2.3, tag 274: the camera was held upright


def pdf(
    *pages: tuple[float, float], words: str = "Part", rotate: int = 0, resources: str = ""
) -> bytes:
    """A PDF written by hand (ISO 32000-1, 7.5): each page has a staff of five lines and words."""
    sizes = pages or (A4_POINTS,)
    objects: list[bytes] = [b"<</Type/Catalog/Pages 2 0 R>>", b""]
    kids = []
    for width, height in sizes:
        lines = "".join(f"40 {height - 100 - 6 * n} m {width - 40} {height - 100 - 6 * n} l S\n"
                        for n in range(5))  # fmt: skip
        drawn = f"{lines}BT /F1 18 Tf 40 {height - 60} Td ({words}) Tj ET".encode("latin-1")
        kids.append(len(objects) + 1)
        objects.append(
            f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 {width} {height}]/Rotate {rotate}"
            f"/Contents {len(objects) + 2} 0 R/Resources<</Font<</F1<</Type/Font/Subtype/Type1"
            f"/BaseFont/Helvetica>>>>{resources}>>>>".encode()
        )
        objects.append(f"<</Length {len(drawn)}>>stream\n".encode() + drawn + b"\nendstream")
    listed = " ".join(f"{kid} 0 R" for kid in kids)
    objects[1] = f"<</Type/Pages/Kids[{listed}]/Count {len(kids)}>>".encode()
    return join_objects(objects)


def join_objects(objects: Sequence[bytes]) -> bytes:
    """Write objects, the first of them the catalogue, with their table and trailer."""
    out = BytesIO()
    out.write(b"%PDF-1.4\n")
    places = []
    for number, each in enumerate(objects, start=1):
        places.append(out.tell())
        out.write(b"%d 0 obj\n" % number + each + b"\nendobj\n")
    table = out.tell()
    out.write(b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1))
    out.writelines(b"%010d 00000 n \n" % place for place in places)
    out.write(b"trailer<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n"
              % (len(objects) + 1, table))  # fmt: skip
    return out.getvalue()


def locked_pdf() -> bytes:
    """A PDF that opens with a password only."""
    writer = PdfWriter(clone_from=PdfReader(BytesIO(pdf())))
    writer.encrypt("word", algorithm="RC4-128")
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def circle_pdf() -> bytes:
    """A PDF whose tree of pages has itself as a branch."""
    return join_objects([b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[2 0 R]/Count 3>>"])


def bomb_pdf(side: int = 60_000) -> bytes:
    """A PDF of some kilobytes whose page shows a picture that unpacks to gigabytes."""
    packer = zlib.compressobj(9)
    chunk = packer.compress(bytes(1 << 20)) + packer.flush(zlib.Z_SYNC_FLUSH)
    packed = zlib.compress(bytes(1 << 22)) if side < 1000 else chunk
    image = (
        f"<</Type/XObject/Subtype/Image/Width {side}/Height {side}/ColorSpace/DeviceRGB"
        f"/BitsPerComponent 8/Filter/FlateDecode/Length {len(packed)}>>stream\n"
    ).encode() + packed + b"\nendstream"  # fmt: skip
    drawn = b"q 500 0 0 500 20 20 cm /Im1 Do Q"
    return join_objects([
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]/Contents 4 0 R"
        b"/Resources<</XObject<</Im1 5 0 R>>>>>>",
        b"<</Length %d>>stream\n" % len(drawn) + drawn + b"\nendstream",
        image,
    ])  # fmt: skip


def endless_pdf() -> bytes:
    """A PDF whose page draws a form that draws two forms, forty deep."""
    deep = 40
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]/Contents 4 0 R"
        b"/Resources<</XObject<</A 5 0 R>>>>>>",
        b"<</Length 5>>stream\n/A Do\nendstream",
    ]
    for level in range(deep):
        following = len(objects) + 2
        last = level == deep - 1
        drawn = b"0 0 9 9 re f" if last else b"/A Do /A Do"
        inner = b"" if last else b"/XObject<</A %d 0 R>>" % following
        objects.append(
            b"<</Type/XObject/Subtype/Form/BBox[0 0 595 842]/Resources<<"
            + inner + b">>/Length %d>>stream\n" % len(drawn) + drawn + b"\nendstream"
        )  # fmt: skip
    return join_objects(objects)


def photo(
    kind: str = "JPEG", size: tuple[int, int] = (400, 300), *, turned: bool = False, note: str = ""
) -> bytes:
    """A photo of a page: white, with a dark corner at the top left of what the camera saw."""
    picture = Image.new("RGB", size, "white")
    picture.paste((0, 0, 0), (0, 0, size[0] // 4, size[1] // 4))
    noted = Image.Exif()
    if turned:
        noted[_ORIENTATION] = _TURNED_RIGHT
    if note:
        noted[0x010E] = note  # ImageDescription
    out = BytesIO()
    picture.save(out, kind, exif=noted)
    return out.getvalue()


def bomb_png(side: int = 60_000) -> bytes:
    """A PNG of some hundred bytes that claims to have `side` by `side` pixels (RFC 2083)."""

    def chunk(name: bytes, content: bytes) -> bytes:
        body = name + content
        return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    packed = zlib.compress(bytes(4096))
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    )
