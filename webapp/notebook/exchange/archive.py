"""Archives of an exchange: written the same byte for byte, and read as if an enemy had made them.

::

    README.txt              how to read all this without this program
    exchange.json           the document, by schema.json; it lists every other file with its SHA-256
    schema.json
    drawings/<id>.svg       each fingering; drawn anew on reading, never shown as it came
    takes/<sha256>.<kind>   recordings as they were made

Entries are stored uncompressed and without the time of packing, so that the bytes depend on what is
in the document alone.
"""

import hashlib
import json
import re
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from analysis.errors import AnalysisError
from analysis.keywork import State
from analysis.pitch import KINDS, WrittenPitch
from analysis.plain_text import clean_text
from analysis.recording import sniff_format
from webapp.drawing.fingering_file import Heading, draw_fingering_file
from webapp.notebook.exchange.documents import (
    FORMAT,
    FORMAT_VERSION,
    Json,
    TheirFingering,
    fingerings_of,
    instruments_of,
    load_schema,
)
from webapp.notebook.exchange.readme import write_readme
from webapp.notebook.exchange.schema_checks import find_fault
from webapp.notebook.safekeeping.archive_bounds import (
    CHUNK_BYTES,
    check_count,
    check_entries,
    read_chunks,
    readable,
)
from webapp.notebook.store.errors import ExchangeRefused

DOCUMENT, README, SCHEMA = "exchange.json", "README.txt", "schema.json"
DRAWINGS, TAKES = "drawings/", "takes/"

_ENTRY = re.compile(
    r"README\.txt|exchange\.json|schema\.json|drawings/[0-9a-f]{16}\.svg"
    r"|takes/[0-9a-f]{64}\.(wav|flac|mp3|ogg|m4a|aac|webm)"
)
_MOST_ENTRIES = 30_003
_DOCUMENT_BYTES, _DOCUMENT_PARTS = 64 << 20, 600_000
_SNIFFED_BYTES = 4096
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_UNREADABLE = (
    "This file cannot be read as an archive of fingerings: it is damaged, incomplete or something "
    "else. Nothing was kept. Choose an archive that a notebook handed on."
)


@dataclass(frozen=True, slots=True)
class Arrived:
    """An archive that was read whole and found sound; `path` is where it lies."""

    path: Path
    document: Json


def draw_theirs(fingering: TheirFingering) -> str:
    """Draw a fingering of a document as SVG that stands alone."""
    note = fingering.said["note"]["in_words"]
    return draw_fingering_file(
        fingering.keys,
        Heading(
            fingering.written,
            has_staff=True,
            has_name=True,
            instrument=fingering.instrument.name,
            clef=fingering.instrument.kind.clef,
        ),
        base=fingering.base,
        title=f"{note}: {fingering.said['keys']}",
    )


def write_archive(document: Json, clips: Mapping[str, Path], target: IO[bytes]) -> Json:
    """Write a document with its recordings into an open file; return it with its list of files.

    `clips` are the recordings by their names in the archive, each named by its hash.

    Raises:
        ExchangeRefused: a recording is not the one that was measured.
    """
    texts = {README: write_readme(document).encode(), SCHEMA: load_schema()[0].encode()}
    for each in fingerings_of(document):
        texts[each.said["drawing"]] = draw_theirs(each).encode()
    files = {name: _facts(content) for name, content in texts.items()}
    for take in _takes(document):
        if take["file"] is not None:
            files[take["file"]] = {"sha256": take["sha256"], "bytes": take["bytes"]}
    whole = {**document, "files": dict(sorted(files.items()))}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED, allowZip64=True) as packed:
        packed.writestr(_entry(DOCUMENT), write_document(whole))
        for name in sorted(files):
            if name in texts:
                packed.writestr(_entry(name), texts[name])
            else:
                _pack_clip(packed, name, clips[name], files[name])
    return whole


def write_document(document: Json) -> bytes:
    """Write exchange.json."""
    text = json.dumps(document, ensure_ascii=False, indent=1, sort_keys=True, allow_nan=False)
    return f"{text}\n".encode()


def read_archive(path: Path) -> Arrived:
    """Read an archive whole: its names and sizes, its document, the hash of every file.

    Raises:
        ExchangeRefused: it is none, damaged, incomplete or hostile.
    """
    with opened(path) as archive:
        entries = archive.infolist()
        check_count(entries, _MOST_ENTRIES, ExchangeRefused)
        if DOCUMENT not in archive.namelist():
            raise ExchangeRefused(
                "This is no archive of fingerings: exchange.json is missing in it. Choose a file "
                "that a notebook handed on."
            )
        check_entries(entries, path.stat().st_size, is_known=_is_entry, refusal=ExchangeRefused)
        document = _read_document(archive)
        _check_files(archive, document)
    return Arrived(path, document)


@contextmanager
def opened(path: Path) -> Iterator[zipfile.ZipFile]:
    """Open the file of an archive. Raises ExchangeRefused where it is none."""
    with readable(_UNREADABLE, ExchangeRefused):
        archive = zipfile.ZipFile(path)
    with archive:
        yield archive


def read_entry(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """Read an entry piece by piece. Raises ExchangeRefused where it is damaged."""
    return read_chunks(archive, name, words=_UNREADABLE, refusal=ExchangeRefused)


def _is_entry(name: str) -> bool:
    return _ENTRY.fullmatch(name) is not None


def _facts(content: bytes) -> dict[str, Any]:
    return {"sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content)}


def _takes(document: Json) -> Iterator[Json]:
    for fingering in fingerings_of(document):
        yield from fingering.said["takes"]


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _NO_TIME)
    entry.create_system = 3  # as on Unix, wherever it is written
    entry.external_attr = 0o600 << 16
    return entry


def _pack_clip(packed: zipfile.ZipFile, name: str, path: Path, facts: Json) -> None:
    digest = hashlib.sha256()
    entry = _entry(name)
    entry.file_size = facts["bytes"]
    with path.open("rb") as source, packed.open(entry, "w") as sink:
        while chunk := source.read(CHUNK_BYTES):
            digest.update(chunk)
            sink.write(chunk)
    if digest.hexdigest() != facts["sha256"]:
        raise ExchangeRefused(
            "A recording of this selection is not the one that was measured, so nothing was "
            "written. `quartervent check` says which; put it back from a backup, or export "
            "without recordings."
        )


def _read_document(archive: zipfile.ZipFile) -> Json:
    if archive.getinfo(DOCUMENT).file_size > _DOCUMENT_BYTES:
        raise _refuse("it is longer than that of any exchange")
    packed = b"".join(read_entry(archive, DOCUMENT))
    try:
        text = packed.decode("utf-8")
        if text.count("{") + text.count("[") > _DOCUMENT_PARTS:
            raise _refuse("it has more parts than any exchange")
        read: object = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise _refuse("it is no JSON text") from error
    _check_version(read)
    fault = find_fault(read, load_schema()[1])
    if fault is not None:
        raise _refuse(fault)
    assert isinstance(read, dict)
    document: Json = {name: _clean(part) for name, part in read.items()}
    _check_meaning(document)
    return document


def _refuse(why: str) -> ExchangeRefused:
    return ExchangeRefused(
        f"exchange.json in this archive is not as it must be ({clean_text(why)[:300]}). Nothing "
        "was kept."
    )


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _check_version(read: object) -> None:
    if not isinstance(read, dict) or read.get("format") != FORMAT:
        raise ExchangeRefused("The document of this archive is not one of an exchange.")
    version = read.get("version")
    if isinstance(version, int) and version > FORMAT_VERSION:
        raise ExchangeRefused(
            f"This archive was made by a newer Quartervent (its format is {version}). Bring it in "
            "with that version. Nothing was kept."
        )


def _clean(part: object) -> object:
    if isinstance(part, str):
        return clean_text(part)
    if isinstance(part, list):
        return [_clean(each) for each in part]
    if isinstance(part, dict):
        return {name: _clean(each) for name, each in part.items()}
    return part


def _check_meaning(document: Json) -> None:
    """Refuse what no notebook could use: unknown kinds, keys that are none, ids that are twice."""
    _refuse_twins([each.said["id"] for each in instruments_of(document)], "instruments")
    _refuse_twins([each.uid for each in fingerings_of(document)], "fingerings")
    _refuse_twins([each["id"] for each in document["lists"]], "lists")
    try:
        for instrument in instruments_of(document):
            if instrument.said["kind"] not in KINDS:
                raise _refuse(f"no kind of clarinet is called “{instrument.said['kind'][:40]}”")
            _ = instrument.layout
        for fingering in fingerings_of(document):
            _check_fingering(fingering)
        for each in document["lists"]:
            _check_list(each, document)
    except (AnalysisError, ValueError, ZeroDivisionError, OverflowError) as error:
        raise _refuse(str(error)) from error


def _check_fingering(fingering: TheirFingering) -> None:
    said = fingering.said
    _ = fingering.written, fingering.changed_at
    if said["drawing"] != f"{DRAWINGS}{said['id']}.svg":
        raise _refuse(f"fingering {said['id']} names a drawing that is not its own")
    pressed = {
        key.id: state.value
        for key, state in zip(fingering.keys.layout.keys, fingering.keys.states, strict=True)
        if state is not State.UP
    }
    if pressed != said["pressed"]:
        raise _refuse(f"the keys of fingering {said['id']} are said in two ways that differ")
    if said["started_from"] is not None:
        WrittenPitch.from_canonical(said["started_from"]["written"])
    _refuse_twins([take["sha256"] for take in said["takes"]], "takes of one fingering")
    for take in said["takes"]:
        if take["file"] not in (None, f"{TAKES}{take['sha256']}.{take['format']}"):
            raise _refuse(f"a take of fingering {said['id']} names a file that is not its own")


def _check_list(said: Json, document: Json) -> None:
    if said["instrument"] not in {each["id"] for each in document["instruments"]}:
        raise _refuse(f"list {said['id']} is for an instrument that is not there")
    known = {each.uid for each in fingerings_of(document)}
    for note in said["notes"]:
        WrittenPitch.from_canonical(note["written"])
        if note["fingering"] is not None and note["fingering"] not in known:
            raise _refuse(f"list {said['id']} names a fingering that is not there")


def _refuse_twins(ids: list[str], what: str) -> None:
    if len(set(ids)) < len(ids):
        raise _refuse(f"two {what} have the same id")


def _check_files(archive: zipfile.ZipFile, document: Json) -> None:
    listed, entries = document["files"], archive.infolist()
    wanted = {README, SCHEMA, *(each.said["drawing"] for each in fingerings_of(document))}
    wanted |= {take["file"] for take in _takes(document) if take["file"] is not None}
    sizes = {each.filename: each.file_size for each in entries if each.filename != DOCUMENT}
    strange = sorted(set(sizes) ^ set(listed) | set(listed) ^ wanted)
    strange += [name for name in sorted(sizes) if sizes[name] != listed.get(name, {}).get("bytes")]
    if strange:
        raise ExchangeRefused(
            f"“{strange[0]}” is not in this archive as exchange.json says. It is damaged or was "
            "changed; ask for it again. Nothing was kept."
        )
    for name, facts in listed.items():
        _check_file(archive, name, facts)


def _check_file(archive: zipfile.ZipFile, name: str, facts: Json) -> None:
    digest, byte_count, head = hashlib.sha256(), 0, b""
    for chunk in read_entry(archive, name):
        head = head or chunk[:_SNIFFED_BYTES]
        digest.update(chunk)
        byte_count += len(chunk)
        if byte_count > facts["bytes"]:
            break
    if (digest.hexdigest(), byte_count) != (facts["sha256"], facts["bytes"]):
        raise ExchangeRefused(
            f"“{name}” in this archive is not what it was when the archive was made. Ask for it "
            "again. Nothing was kept."
        )
    if name.startswith(TAKES):
        _check_sound(name, head, facts["sha256"])


def _check_sound(name: str, head: bytes, sha256: str) -> None:
    try:
        found = sniff_format(head).value
    except AnalysisError as error:
        raise ExchangeRefused(f"“{name[:40]}…” in this archive is no recording. {error}") from error
    if name != f"{TAKES}{sha256}.{found}":
        raise ExchangeRefused(f"“{name[:40]}…” in this archive is a recording of another kind.")
