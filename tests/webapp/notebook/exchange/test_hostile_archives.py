"""Archives made by an enemy, or by accident: each is refused by name, and nothing is kept.

What to be afraid of: CWE-22 (path traversal), CWE-59 (link following), CWE-409 (decompression
bomb); what JSON may hold: RFC 8259 (all from memory).
"""

import copy
import hashlib
import io
import random
import shutil
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.webapp.conftest import Opener
from tests.webapp.logging_rows import Filled
from tests.webapp.notebook.exchange.sending import (
    Contents,
    Document,
    bring_in,
    document_of,
    export,
    put_together,
    unpack,
)
from tests.webapp.snapshots import snapshot
from webapp.notebook.exchange.arriving import take_in
from webapp.notebook.exchange.selecting import Sending
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping import archive_bounds
from webapp.notebook.store.errors import ExchangeRefused
from webapp.notebook.store.notebook import Notebook


@pytest.fixture(scope="module")
def sound(filled_folder: tuple[Path, Filled], tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A sound archive with recordings and a list."""
    folder = tmp_path_factory.mktemp("sound") / "notebook"
    shutil.copytree(filled_folder[0], folder)
    notebook = open_notebook(folder)
    try:
        return export(notebook, filled_folder[1].soprano, Sending("A. Player", True, "A list"))
    finally:
        notebook.close()


@pytest.fixture
def contents(sound: bytes) -> Contents:
    """Its entries."""
    return unpack(sound)


def refused(notebook: Notebook, archive: bytes, words: str, folder: Path) -> None:
    """The archive is refused in these words, and the notebook is byte for byte what it was."""
    before = snapshot(notebook)
    with pytest.raises(ExchangeRefused, match=words):
        bring_in(notebook, archive, folder)
    with pytest.raises(ExchangeRefused, match=words):
        take_in(notebook, io.BytesIO(archive))
    assert not list((notebook.folder / "arriving").iterdir())
    (notebook.folder / "arriving").rmdir()
    assert snapshot(notebook) == before


def test_put_together_by_hand_it_is_taken(
    notebook: Notebook, contents: Contents, tmp_path: Path
) -> None:
    bring_in(notebook, put_together(contents), tmp_path)


@pytest.mark.parametrize(
    "name",
    ["../escaped", "takes/../../escaped", "/tmp/escaped", "takes\\escaped", "drawings/x.svg",
     "notebook.sqlite3", "takes/" + "a" * 64 + ".exe"],
)  # fmt: skip
def test_a_name_that_no_exchange_gives_is_refused(
    notebook: Notebook, contents: Contents, tmp_path: Path, name: str
) -> None:
    refused(notebook, put_together({**contents, name: b"x"}), "no part of a notebook", tmp_path)
    assert not list(tmp_path.rglob("escaped*"))


def test_links_are_refused(notebook: Notebook, sound: bytes, tmp_path: Path) -> None:
    packed = io.BytesIO(sound)
    link = zipfile.ZipInfo("takes/" + "a" * 64 + ".wav")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    with zipfile.ZipFile(packed, "a") as archive:
        archive.writestr(link, "/etc/hostname")
    refused(notebook, packed.getvalue(), "a link or another special file", tmp_path)


def test_a_bomb_is_not_unpacked(
    notebook: Notebook, sound: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Deflate shrinks zeros a thousandfold; what is ordinary is set lower here, to be quick.
    monkeypatch.setattr(archive_bounds, "_ORDINARY_BYTES", 1 << 24)
    packed = io.BytesIO(sound)
    with (
        zipfile.ZipFile(packed, "a", zipfile.ZIP_DEFLATED) as archive,
        archive.open("takes/" + "a" * 64 + ".wav", "w") as entry,
    ):
        zeros = bytes(1 << 20)
        for _ in range(len(sound) // 5000):
            entry.write(zeros)
    refused(notebook, packed.getvalue(), "would grow from", tmp_path)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no JSON text"),
        ("[" * 100_000, "no JSON text"),
        ("[]", "not one of an exchange"),
        ('{"format": "quartervent-exchange", "version": 2}', "newer Quartervent"),
        ('{"format": "quartervent-exchange", "version": 1}', "sender is missing"),
        ('{"format": "quartervent-exchange", "version": NaN}', "no JSON text"),
        ("9" * 5000, "no JSON text"),
        ("[" + "[]," * 600_001 + "[]]", "more parts"),
    ],
)
def test_a_document_that_is_none_is_refused(
    notebook: Notebook, contents: Contents, tmp_path: Path, text: str, words: str
) -> None:
    refused(notebook, put_together(contents, text or " "), words, tmp_path)


def _first(document: Document) -> Document:
    first: Document = document["instruments"][0]["fingerings"][0]
    return first


def _heard(document: Document) -> Document:
    every: list[Document] = document["instruments"][0]["fingerings"]
    return next(take for each in every for take in each["takes"] if take["file"])


NOWHERE = "takes/" + "0" * 64 + ".wav"
CHANGES: dict[str, tuple[Callable[[Any], object], str]] = {
    "unknown member": (lambda d: d.update(more=1), "“more” is not known"),
    "offset beyond reason": (lambda d: _first(d).update(figures={
        "offset_cents": 1e300, "uncertainty_cents": 1, "spread_cents": None, "takes_counted": 1,
    }), "out of range"),
    "text as number": (lambda d: _first(d).update(resistance="3"), "no integer or null"),
    "true as number": (lambda d: _first(d).update(resistance=True), "no integer or null"),
    "id of a path": (lambda d: d["sender"].update(id="../../x"), "not written as it must be"),
    "no such kind": (lambda d: d["instruments"][0].update(kind="kazoo"), "no kind of clarinet"),
    "keywork that is none": (
        lambda d: d["instruments"][0]["keywork"].update(toml="= ="), "not as it must be"
    ),
    "keys that are none": (lambda d: _first(d).update(keys="Q Q Q"), "not as it must be"),
    "keys said in two ways": (lambda d: _first(d).update(pressed={}), "two ways that differ"),
    "a drawing of another": (
        lambda d: _first(d).update(drawing="drawings/" + "0" * 16 + ".svg"), "not its own"
    ),
    "a recording of another": (
        lambda d: _heard(d).update(file="takes/" + "0" * 64 + ".wav"), "not its own"
    ),
    "the same id twice": (
        lambda d: d["instruments"][0]["fingerings"].append(copy.deepcopy(_first(d))), "the same id"
    ),
    "a list of what is not there": (
        lambda d: d["lists"][0]["notes"][0].update(fingering="0" * 16), "is not there"
    ),
    "a moment that is none": (
        lambda d: _first(d).update(changed_at="2026-13-01T00:00:00+00:00"), "not as it must be"
    ),
    "a file that is not there": (
        lambda d: d["files"].update({NOWHERE: {"sha256": "0" * 64, "bytes": 1}}),
        "is not in this archive",
    ),
    "a size that lies": (
        lambda d: d["files"]["README.txt"].update(bytes=3), "is not in this archive"
    ),
    "a hash that lies": (
        lambda d: d["files"]["README.txt"].update(sha256="0" * 64), "not what it was"
    ),
}  # fmt: skip


@pytest.mark.parametrize("change", CHANGES)
def test_a_document_that_lies_is_refused(
    notebook: Notebook, sound: bytes, tmp_path: Path, change: str
) -> None:
    document = document_of(sound)
    make, words = CHANGES[change]
    make(document)
    refused(notebook, put_together(unpack(sound), document), words, tmp_path)


def test_a_recording_that_is_none_is_refused(
    notebook: Notebook, sound: bytes, tmp_path: Path
) -> None:
    """A page of a browser in a file that is called a recording."""
    contents, document = unpack(sound), document_of(sound)
    page = b"<!doctype html><script>alert(1)</script>"
    sha256 = hashlib.sha256(page).hexdigest()
    take = _heard(document)
    del contents[take["file"]], document["files"][take["file"]]
    name = f"takes/{sha256}.wav"
    take.update(sha256=sha256, bytes=len(page), format="wav", file=name)
    document["files"][name] = {"sha256": sha256, "bytes": len(page)}
    refused(notebook, put_together({**contents, name: page}, document), "is no recording", tmp_path)


def test_a_drawing_of_theirs_is_never_kept(
    notebook: Notebook, sound: bytes, tmp_path: Path
) -> None:
    """Whatever stands in it: pictures are drawn anew from the keys."""
    contents, document = unpack(sound), document_of(sound)
    name, evil = _first(document)["drawing"], b"<svg onload='alert(1)'/>"
    document["files"][name] = {"sha256": hashlib.sha256(evil).hexdigest(), "bytes": len(evil)}
    bring_in(notebook, put_together({**contents, name: evil}, document), tmp_path)
    kept = b"".join(path.read_bytes() for path in notebook.folder.rglob("*") if path.is_file())
    assert b"onload" not in kept


def test_mutated_archives_are_taken_whole_or_refused_by_name(
    opened: Opener, empty_folder: Path, sound: bytes, tmp_path: Path
) -> None:
    notebook = opened(empty_folder)
    chance = random.Random(19)
    refusals = 0
    for _ in range(60):
        mutant = bytearray(sound)
        for _ in range(chance.randint(1, 4)):
            mutant[chance.randrange(len(mutant))] = chance.randrange(256)
        try:
            bring_in(notebook, bytes(mutant), tmp_path)
        except ExchangeRefused:
            refusals += 1
    assert refusals > 50


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.999])
def test_an_archive_that_is_cut_off_is_refused(
    notebook: Notebook, sound: bytes, tmp_path: Path, share: float
) -> None:
    cut = sound[: int(share * len(sound))]
    refused(notebook, cut, "cannot be read as an archive", tmp_path)
