"""Unpacking of a score file: what kind of content it is, and the XML inside an archive.

An archive (.mxl) names its score in META-INF/container.xml (MusicXML 4.0, "Compressed .MXL
files"). It is judged before it is opened: zip (APPNOTE 6.3.10, sections 4.3.12 to 4.3.16) tells at
its end how many entries follow. Bytes are counted as they are unpacked, whatever sizes are claimed.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from xml.parsers import expat

from analysis.notation.bounds import ScoreBounds, ScoreRejected

CONTAINER = "META-INF/container.xml"
SCORE_TYPES = (
    "",
    "application/vnd.recordare.musicxml+xml",
    "application/vnd.recordare.musicxml",
    "application/xml",
    "text/xml",
)
SCORE_ENDINGS = (".musicxml", ".xml", ".mei")
READ_BYTES = 1 << 16
_CONTAINER_BYTES = 1 << 20
_END_MARK, _ZIP64_MARK = b"PK\x05\x06", b"PK\x06\x07"
_END_BYTES, _COMMENT_BYTES = 22, 65_535
_DIRECTORY_ENTRY_BYTES = 46 + 512  # a header, and a generous name with extra fields
# KeyError and RuntimeError are zipfile's own words for an entry that is not there or not readable
DAMAGE_ERRORS = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    KeyError,
    NotImplementedError,
    OSError,
    RuntimeError,
    ValueError,
)
_SIGNATURES: tuple[tuple[int, bytes, str, str], ...] = (
    (0, b"%PDF", "picture", "a PDF document"),
    (0, b"\x89PNG", "picture", "a picture"),
    (0, b"\xff\xd8\xff", "picture", "a picture"),
    (0, b"GIF8", "picture", "a picture"),
    (0, b"II*\x00", "picture", "a picture"),
    (0, b"MM\x00*", "picture", "a picture"),
    (0, b"BM", "picture", "a picture"),
    (8, b"WEBP", "picture", "a picture"),
    (4, b"ftypheic", "picture", "a picture"),
    (4, b"ftypavif", "picture", "a picture"),
    (4, b"ftypmif1", "picture", "a picture"),
    (0, b"MThd", "other", "a MIDI file"),
    (0, b"RIFF", "other", "a sound file"),
    (0, b"fLaC", "other", "a sound file"),
    (0, b"OggS", "other", "a sound file"),
    (0, b"ID3", "other", "a sound file"),
    (4, b"ftyp", "other", "a sound or video file"),
    (0, b"\x1f\x8b", "other", "a gzip archive"),
    (0, b"Rar!", "other", "another kind of archive"),
    (0, b"7z\xbc\xaf", "other", "another kind of archive"),
)


def unpack_score(content: bytes, bounds: ScoreBounds) -> bytes:
    """Return the XML of a score file: the file itself, or the score in an archive.

    Raises `ScoreRejected`.
    """
    if content.startswith(b"PK"):
        if len(content) > bounds.packed_bytes:
            raise ScoreRejected("large", f"{bounds.packed_bytes >> 20} MB")
        return _unpack_archive(content, bounds)
    if len(content) > bounds.unpacked_bytes:
        raise ScoreRejected("large", f"{bounds.unpacked_bytes >> 20} MB")
    return _check_content(content)


def _check_content(content: bytes) -> bytes:
    """Refuse by name what is no XML; of XML, leave out what some exporters put before it."""
    if not content.strip(b"\0\t\r\n "):
        raise ScoreRejected("empty")
    for start, mark, reason, name in _SIGNATURES:
        if content[start : start + len(mark)] == mark:
            raise ScoreRejected(reason, name)
    if content[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        raise ScoreRejected("encoding", "UTF-32")
    return content if content[:2] in (b"\xff\xfe", b"\xfe\xff") else content.lstrip(b"\t\r\n ")


def _unpack_archive(content: bytes, bounds: ScoreBounds) -> bytes:
    _check_directory(content, bounds)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if len(archive.infolist()) > bounds.archive_entries:
                raise ScoreRejected("entries", str(bounds.archive_entries))
            if any(entry.flag_bits & 1 for entry in archive.infolist()):
                raise ScoreRejected("encrypted")
            name = _find_score(archive, bounds)
            return _check_content(_read_entry(archive, name, bounds.unpacked_bytes))
    except DAMAGE_ERRORS as error:
        raise ScoreRejected("damaged archive") from error


def _check_directory(content: bytes, bounds: ScoreBounds) -> None:
    """Refuse an archive with too many entries before its list of them is read."""
    at = content.rfind(_END_MARK, max(0, len(content) - _END_BYTES - _COMMENT_BYTES))
    if at < 0 or len(content) - at < _END_BYTES:
        raise ScoreRejected("damaged archive")
    entries, size = struct.unpack_from("<HI", content, at + 10)
    is_huge = content[at - 20 : at - 16] == _ZIP64_MARK if at >= 20 else False
    most_bytes = bounds.archive_entries * _DIRECTORY_ENTRY_BYTES
    if is_huge or entries > bounds.archive_entries or size > most_bytes:
        raise ScoreRejected("entries", str(bounds.archive_entries))


def _find_score(archive: zipfile.ZipFile, bounds: ScoreBounds) -> str:
    """Name the entry that holds the score."""
    names = archive.namelist()
    if CONTAINER in names:
        roots = _read_container(_read_entry(archive, CONTAINER, _CONTAINER_BYTES), bounds)
        scores = [path for path, kind in roots if kind in SCORE_TYPES]
        found = list(dict.fromkeys(scores or [path for path, _ in roots]))
    else:
        found = [
            name
            for name in names
            if name.lower().endswith(SCORE_ENDINGS)
            and not name.startswith(("META-INF", "__MACOSX"))
        ]
    if not found:
        raise ScoreRejected("no score inside")
    if len(found) > 1:
        raise ScoreRejected("several", str(len(found)))
    if found[0] not in names:
        raise ScoreRejected("no score inside")
    return found[0]


def _read_container(content: bytes, bounds: ScoreBounds) -> list[tuple[str, str]]:
    """List the root files of a container, each with its media type."""
    roots: list[tuple[str, str]] = []
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > bounds.depth:
            raise ScoreRejected("deep", str(bounds.depth))
        if tag.rpartition(":")[2] == "rootfile" and "full-path" in attributes:
            roots.append((attributes["full-path"], attributes.get("media-type", "")))
            if len(roots) > bounds.archive_entries:
                raise ScoreRejected("entries", str(bounds.archive_entries))

    def end(_: str) -> None:
        nonlocal depth
        depth -= 1

    parser = make_parser()
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        raise ScoreRejected("damaged archive") from error
    return roots


def make_parser() -> expat.XMLParserType:
    """Return an XML parser that stops at the first declaration of an entity and fetches nothing."""

    def refuse_entities(*_: object) -> None:
        raise ScoreRejected("entities")

    parser = expat.ParserCreate()
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.EntityDeclHandler = refuse_entities
    parser.buffer_text = True
    return parser


def _read_entry(archive: zipfile.ZipFile, name: str, most_bytes: int) -> bytes:
    """Unpack an entry, counting what comes out."""
    if archive.getinfo(name).compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise ScoreRejected("damaged archive")  # no other method is used for scores
    blocks, total = [], 0
    with archive.open(name) as entry:
        while block := entry.read(READ_BYTES):
            total += len(block)
            if total > most_bytes:
                raise ScoreRejected("large", f"{most_bytes >> 20} MB")
            blocks.append(block)
    return b"".join(blocks)
