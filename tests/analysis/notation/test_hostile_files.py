"""Files that do harm or are no scores: each refused with its reason, in bounded time and memory."""

from __future__ import annotations

import struct
import zipfile

import pytest

from analysis.notation.bounds import ScoreBounds
from tests.analysis.notation.scores import MUSICXML, answer, bar, note, pack, score

GOOD = score(bar(note("D5 -0.5", "quarter-flat")))
SMALL = ScoreBounds(packed_bytes=4_000, unpacked_bytes=20_000, archive_entries=20, elements=300)


def refused(content: bytes, bounds: ScoreBounds | None = None) -> str:
    told = answer(content, bounds=bounds)
    assert "refused" in told, "it was read"
    assert told["refused"] != "fault", told
    return str(told["refused"])


def encrypted() -> bytes:
    """An archive whose entries say that they are encrypted (APPNOTE 6.3.10, 4.4.4: bit 0)."""
    content = bytearray(pack({"a.musicxml": GOOD}, container="a.musicxml"))
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = -1
        while (at := content.find(mark, at + 1)) >= 0:
            content[at + offset] |= 1
    return bytes(content)


def with_declaration(declaration: str) -> bytes:
    return GOOD.replace(
        b"<score-partwise", f"<!DOCTYPE score-partwise [{declaration}]><score-partwise".encode(), 1
    )


LAUGHS = "".join(f'<!ENTITY a{n + 1} "&a{n};&a{n};&a{n};">' for n in range(30))
REASONS = {
    "nothing": (b"", "empty"),
    "blanks": (b" \n\t", "empty"),
    "a PDF": (b"%PDF-1.7 ...", "picture"),
    "a picture": (b"\x89PNG\r\n\x1a\n....", "picture"),
    "a photo": (b"\xff\xd8\xff\xe0....", "picture"),
    "a MIDI file": (b"MThd\0\0\0\6", "other"),
    "a recording": (b"RIFF....WAVEfmt ", "other"),
    "a text": (b"C D E F", "not xml"),
    "a web page": (b"<html><body/></html>", "root"),
    "an MEI file of nothing": (b'<mei xmlns="http://www.music-encoding.org/ns/mei"/>', "no parts"),
    "an MEI file cut off": (b"<mei><music><body>", "damaged"),
    "a deep MEI file": (b"<mei>" + b"<section>" * 50, "deep"),
    "an MEI file with entities": (b"<!DOCTYPE mei [<!ENTITY a 'b'>]><mei/>", "entities"),
    "a list of scores": (b"<opus/>", "root"),
    "other XML": (b"<moon/>", "root"),
    "UTF-32": (GOOD.decode().encode("utf-32"), "encoding"),
    "a coding nobody knows": (GOOD.replace(b"UTF-8", b"EBCDIC-XY"), "encoding"),
    "an entity": (with_declaration('<!ENTITY a "b">'), "entities"),
    "entities in entities": (with_declaration('<!ENTITY a0 "ha">' + LAUGHS), "entities"),
    "an entity from a file": (with_declaration('<!ENTITY a SYSTEM "file:///a">'), "entities"),
    "a parameter entity": (with_declaration('<!ENTITY % a "b">'), "entities"),
    "too deep": (GOOD.replace(b"<note ", b"<a>" * 50 + b"</a>" * 50 + b"<note ", 1), "deep"),
    "cut off": (GOOD[:-40], "damaged"),
    "tags crossed": (GOOD.replace(b"</pitch>", b"</step>"), "damaged"),
    "no parts": (b"<score-partwise/>", "no parts"),
    "a list of parts without music": (GOOD.replace(b"part id=", b"moon id="), "damaged"),
    "a part that is called otherwise": (
        GOOD.replace(b'<part id="P1">', b"<moon>").replace(b"</part>", b"</moon>"), "no parts",
    ),
    "an empty archive": (pack({}), "no score inside"),
    "an archive of pictures": (pack({"a.png": b"\x89PNG"}), "no score inside"),
    "a container that names nothing": (pack({"b.xml": GOOD}, container="a.xml"), "no score inside"),
    "a PDF in an archive": (
        pack({"a.pdf": b"%PDF-1.7"}, container="a.pdf", kind="application/pdf"), "picture",
    ),
    "a PDF said to be a score": (pack({"a.xml": b"%PDF-1.7"}, container="a.xml"), "picture"),
    "several scores": (pack({"a.musicxml": GOOD, "b.musicxml": GOOD}), "several"),
    "an encrypted archive": (encrypted(), "encrypted"),
    "half an archive": (pack({"a.musicxml": GOOD})[:200], "damaged archive"),
    "an archive without its end": (pack({"a.musicxml": GOOD})[:-30], "damaged archive"),
    "entities in the container": (
        pack({"a.musicxml": GOOD, "META-INF/container.xml": with_declaration('<!ENTITY a "b">')}),
        "entities",
    ),
    "a deep container": (
        pack({"a.musicxml": GOOD, "META-INF/container.xml": b"<a>" * 50}), "deep",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REASONS)
def test_what_is_no_score_is_refused_by_its_reason(name: str) -> None:
    content, reason = REASONS[name]
    assert refused(content) == reason


def test_a_declared_document_type_is_no_entity() -> None:
    plain = b'<!DOCTYPE score-partwise PUBLIC "-//A//B" "http://example.org/partwise.dtd">'
    content = GOOD.replace(b"<score-partwise", plain + b"<score-partwise", 1)
    assert "read" in answer(content)


def test_several_scores_of_a_container_are_several() -> None:
    roots = "".join(f'<rootfile full-path="{name}.xml"/>' for name in "ab")
    listed = f"<container><rootfiles>{roots}</rootfiles></container>".encode()
    content = pack({"a.xml": GOOD, "b.xml": GOOD, "META-INF/container.xml": listed})
    assert refused(content) == "several"


def test_a_picture_of_the_score_beside_it_in_the_container_is_no_second_score() -> None:
    roots = (
        f'<rootfile full-path="a.xml" media-type="{MUSICXML}"/>'
        '<rootfile full-path="a.pdf" media-type="application/pdf"/>'
    )
    listed = f"<container><rootfiles>{roots}</rootfiles></container>".encode()
    content = pack({"a.xml": GOOD, "a.pdf": b"%PDF", "META-INF/container.xml": listed})
    assert "read" in answer(content)


# --- sizes


def test_bytes_are_counted_as_they_are_unpacked() -> None:
    bomb = pack({"a.musicxml": GOOD + b" " * 3_000_000}, container="a.musicxml")
    assert len(bomb) < SMALL.packed_bytes
    assert refused(bomb, SMALL) == "large"


def test_a_size_that_an_archive_claims_is_not_believed() -> None:
    """The size in the headers (APPNOTE 6.3.10, 4.4.9) says 100 bytes of 3 million."""
    bomb = bytearray(pack({"a.musicxml": GOOD + b" " * 3_000_000}))
    for mark, offset in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = bomb.find(mark)
        bomb[at + offset : at + offset + 4] = struct.pack("<I", 100)
    assert refused(bytes(bomb), SMALL) in ("large", "damaged archive", "damaged")


def test_too_many_bytes_are_refused_before_they_are_read() -> None:
    assert refused(b"PK" + bytes(5_000), SMALL) == "large"
    assert refused(b"<" + b"a" * 30_000, SMALL) == "large"


def test_too_many_entries_are_refused_before_they_are_listed() -> None:
    content = pack({f"{number}.txt": b"" for number in range(30)})
    assert refused(content, ScoreBounds(archive_entries=20)) == "entries"


def test_an_archive_of_another_method_is_refused() -> None:
    content = bytearray(pack({"a.musicxml": GOOD}))
    for mark, offset in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        at = content.find(mark)
        content[at + offset : at + offset + 2] = struct.pack("<H", zipfile.ZIP_LZMA)
    assert refused(bytes(content)) == "damaged archive"


def test_too_many_elements_are_refused() -> None:
    assert refused(score(bar(*(note("C5") for _ in range(100)))), SMALL) == "large"
    crowded = note("C5", notations="<a/>" * 60)
    assert refused(score(bar(crowded)), ScoreBounds(item_elements=50)) == "large"


@pytest.mark.parametrize(("bounds", "reason"), [(ScoreBounds(notes=3), "notes")])
def test_too_many_notes_in_any_part_are_refused(bounds: ScoreBounds, reason: str) -> None:
    assert refused(score(bar(*(note("C5") for _ in range(4)))), bounds) == reason


def test_too_many_parts_are_refused() -> None:
    listed = b"".join(b'<score-part id="P%d"/>' % number for number in range(61))
    content = GOOD.replace(b"</part-list>", listed + b"</part-list>")
    assert refused(content) == "parts"
    unlisted = b"".join(b'<part id="Q%d"/>' % number for number in range(61))
    assert refused(GOOD.replace(b"</score-partwise>", unlisted + b"</score-partwise>")) == "parts"


def test_long_texts_are_cut_short() -> None:
    long = "moon " * 50_000
    content = score(
        bar(note("C5", more=f"<voice>{long}</voice>"), number="9" * 5_000),
        name=long,
    )
    told = answer(content)["read"]
    assert len(told["parts"][0][2]) <= 200
    assert len(told["bars"][0][0]) <= 20


@pytest.mark.parametrize(
    "figure", ["1e999999999", "9" * 5_000, "nan", "-inf", "0x10", "١", "--1", ".", "1/0", ""]
)
def test_strange_numbers_are_no_numbers(figure: str) -> None:
    content = score(bar(note("C5").replace("<duration>1<", f"<duration>{figure}<")))
    assert answer(content)["read"]["notes"][0][2] == "0"
    altered = score(bar(note(f"C5 {figure}")), divisions=figure, transposition=f"{figure} -2")
    assert "read" in answer(altered)


@pytest.mark.parametrize("octave", ["10", "-1", "x", "99999999999", ""])
def test_notes_whose_pitch_cannot_be_read_are_counted(octave: str) -> None:
    content = score(bar(note("C5").replace("<octave>5<", f"<octave>{octave}<"), note("D5")))
    told = answer(content)["read"]
    assert len(told["notes"]) == 1
    assert told["omissions"] == [["notes whose pitch cannot be read", (0,)]]
