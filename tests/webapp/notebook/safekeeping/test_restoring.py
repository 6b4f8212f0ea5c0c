"""Archives made by an enemy, or by accident: each is refused by name, and nothing is changed.

What to be afraid of: CWE-22 (path traversal), CWE-59 (link following), CWE-409 (decompression
bomb); what a ZIP entry may claim: APPNOTE.TXT 4.3 to 4.5 (both from memory).
"""

import io
import json
import random
import shutil
import sqlite3
import stat
import zipfile
import zlib
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.webapp.logging_rows import Filled, add_clarinet, log
from tests.webapp.notebook.safekeeping.archives import Contents, put_together, unpack
from tests.webapp.snapshots import snapshot
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping import backup_format
from webapp.notebook.safekeeping.backup import copy_database, make_backup
from webapp.notebook.safekeeping.restoring import restore_backup
from webapp.notebook.store.errors import BackupFromLater, BackupRefused
from webapp.notebook.store.notebook import Notebook


@pytest.fixture(scope="module")
def contents(
    filled_folder: tuple[Path, Filled], tmp_path_factory: pytest.TempPathFactory
) -> Contents:
    """The entries of a sound backup."""
    folder = tmp_path_factory.mktemp("sound") / "notebook"
    shutil.copytree(filled_folder[0], folder)
    made = io.BytesIO()
    with closing(open_notebook(folder)) as opened:
        make_backup(opened, made)
    return unpack(made)


@pytest.fixture
def mine(notebook: Notebook) -> Notebook:
    """The notebook that must stay as it is."""
    log(notebook, add_clarinet(notebook), "E5", "T R 123 | 12-")
    (notebook.clips.folder / "mine.wav").write_bytes(b"mine")
    return notebook


def refused(mine: Notebook, path: Path, words: str) -> None:
    """The archive is refused in these words, and the folder is byte for byte what it was."""
    before = snapshot(mine)
    outside = sorted(str(each) for each in mine.folder.parent.iterdir())
    with pytest.raises(BackupRefused, match=words):
        restore_backup(mine, path)
    assert snapshot(mine) == before
    assert sorted(str(each) for each in mine.folder.parent.iterdir()) == outside


def test_a_sound_archive_put_together_by_hand_is_taken(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    done = restore_backup(mine, put_together(tmp_path / "b.zip", contents))
    assert done.clip_count == len(contents) - 2


@pytest.mark.parametrize(
    "name",
    [
        "../escaped.wav",
        "clips/../../escaped.wav",
        "/tmp/escaped.wav",
        "clips/sub/escaped.wav",
        "clips\\..\\escaped.wav",
        "C:escaped.wav",
        "clips/",
        "clips/.hidden",
        "clips/a\u202egnp.wav",
        "session.key",
        "clips/" + "a" * 300 + ".wav",
    ],
)
def test_a_name_that_no_notebook_gives_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, name: str
) -> None:
    path = put_together(tmp_path / "b.zip", {**contents, name: b"escaped"})
    refused(mine, path, "no part of a notebook")
    assert not list(tmp_path.rglob("escaped*"))


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFDIR, stat.S_IFCHR])
def test_links_and_special_files_are_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, kind: int
) -> None:
    path = put_together(tmp_path / "b.zip", contents)
    link = zipfile.ZipInfo("clips/link.wav")
    link.external_attr = (kind | 0o777) << 16
    with zipfile.ZipFile(path, "a") as packed:
        packed.writestr(link, "/etc/hostname")
    refused(mine, path, "a link or another special file")


@pytest.mark.parametrize("twin", ["clips/{name}", "CLIPS"])
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_files_of_one_name_are_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, twin: str
) -> None:
    path = put_together(tmp_path / "b.zip", contents)
    name = next(each for each in contents if each.startswith("clips/"))
    again = name if twin != "CLIPS" else "clips/" + name.removeprefix("clips/").upper()
    with zipfile.ZipFile(path, "a") as packed:
        packed.writestr(again, b"another")
    refused(mine, path, "two files of the same name")


class ZerosAgain:
    """Deflates the same mebibyte of zeros as often as it is asked, which it does only once."""

    def __init__(self) -> None:
        stream = zlib.compressobj(1, zlib.DEFLATED, -zlib.MAX_WBITS)
        # after a full flush a block needs nothing of what stands before it (RFC 1951)
        self.block = stream.compress(bytes(1 << 20)) + stream.flush(zlib.Z_FULL_FLUSH)
        self.flush = stream.flush

    def compress(self, _: bytes) -> bytes:
        return self.block


def test_a_bomb_is_not_unpacked(
    mine: Notebook, contents: Contents, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # More than a gigabyte of zeros in a few megabytes, which is quick to make.
    path = tmp_path / "b.zip"
    small = put_together(path, contents)
    with (
        zipfile.ZipFile(small, "a", zipfile.ZIP_DEFLATED) as packed,
        packed.open("clips/bomb.wav", "w") as entry,
    ):
        monkeypatch.setattr(entry, "_compressor", ZerosAgain())
        zeros = bytes(1 << 20)
        for _ in range(1100):
            entry.write(zeros)
    assert path.stat().st_size < 8e6
    refused(mine, path, "would grow from")


def test_an_archive_larger_than_the_disk_is_not_unpacked(
    mine: Notebook, contents: Contents, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = put_together(tmp_path / "b.zip", contents)
    usage = type("usage", (), {"free": 1000})
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage)
    refused(mine, path, "Make room first")


def test_a_size_that_lies_is_found_out(mine: Notebook, contents: Contents, tmp_path: Path) -> None:
    path = put_together(tmp_path / "b.zip", contents)
    whole = bytearray(path.read_bytes())
    # The size before packing stands 24 bytes into an entry of the central directory
    # (APPNOTE.TXT 4.3.12), which begins with PK 1 2.
    at = whole.index(b"PK\x01\x02") + 24
    whole[at : at + 4] = (int.from_bytes(whole[at : at + 4], "little") - 7).to_bytes(4, "little")
    path.write_bytes(whole)
    refused(mine, path, "not in this archive as its list of contents says|damaged")


def test_what_is_listed_and_not_there_or_there_and_not_listed_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    files = json.loads(contents["manifest.json"])["files"]
    more = {**files, "clips/more.wav": {"sha256": "0" * 64, "bytes": 3}}
    refused(mine, put_together(tmp_path / "b.zip", contents, files=more), "not in this archive as")
    unlisted = put_together(tmp_path / "c.zip", {**contents, "clips/more.wav": b"abc"}, files=files)
    refused(mine, unlisted, "not in this archive as")


def test_a_hash_that_does_not_fit_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    clip = next(each for each in contents if each.startswith("clips/"))
    altered = {**contents, clip: contents[clip][:-1] + b"x"}
    manifest = json.loads(contents["manifest.json"])
    path = put_together(tmp_path / "b.zip", altered, files=manifest["files"])
    refused(mine, path, "is not what it was when the backup was made")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"version": 2}, "newer Quartervent"),
        ({"schema": "9999"}, "newer Quartervent"),
        ({"schema": "0001"}, "its schema is not the one"),
        ({"schema": "latest"}, "does not say what it is of"),
        ({"version": "1"}, "does not say what it is of"),
        ({"format": "holiday pictures"}, "not that of a notebook"),
        ({"files": []}, "lists nothing"),
        ({"files": {}}, "holds no database"),
        ({"files": {"notebook.sqlite3": None}}, "does not say what"),
        ({"files": {"notebook.sqlite3": {"sha256": "0", "bytes": 1}}}, "does not say what"),
        ({"missing": 3}, "lists nothing"),
    ],
)
def test_a_manifest_that_cannot_be_trusted_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, change: dict[str, object], words: str
) -> None:
    refused(mine, put_together(tmp_path / "b.zip", contents, **change), words)


def test_what_the_manifest_says_reaches_no_terminal_as_a_command(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    path = put_together(
        tmp_path / "b.zip", contents, made_at="\x1b[2J now", missing=["\x1b[2J", "0a.wav", 7]
    )
    done = restore_backup(mine, path)
    assert (done.made_at, done.missing) == ("an unknown day", ("0a.wav", "7"))


def test_what_a_newer_version_made_has_an_error_of_its_own(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    with pytest.raises(BackupFromLater, match="Restore it with that version"):
        restore_backup(mine, put_together(tmp_path / "b.zip", contents, schema="9999"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (None, "manifest.json. is missing"),
        (b"", "cannot be read"),
        (b"\xff\xfe", "cannot be read"),
        (b"[" * 100_000, "far longer than"),
        (b"[]", "not that of a notebook"),
    ],
)
def test_a_manifest_that_is_missing_or_none_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, text: bytes | None, words: str
) -> None:
    path = tmp_path / "b.zip"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("notebook.sqlite3", contents["notebook.sqlite3"])
        if text is not None:
            packed.writestr("manifest.json", text)
    refused(mine, path, words)


@pytest.mark.parametrize(
    "text",
    [b"[" + b"{}, " * 1_000_000 + b"{}]", b'{"files": ' * 50 + b"1" + b"}" * 50, b" " * 10**6],
    ids=["objects", "depth", "spaces"],
)
def test_a_manifest_longer_than_what_it_lists_is_not_parsed(
    mine: Notebook, contents: Contents, tmp_path: Path, text: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(text: str) -> None:
        raise AssertionError("parsed")

    path = tmp_path / "b.zip"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("notebook.sqlite3", contents["notebook.sqlite3"])
        packed.writestr("manifest.json", text)
    monkeypatch.setattr("json.loads", refuse)
    refused(mine, path, "far longer than what it holds")


@pytest.mark.parametrize("name", ["con.wav", "NUL.wav", "com1.flac", "lpt9"])
def test_names_that_windows_keeps_for_devices_are_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, name: str
) -> None:
    more = {**contents, f"clips/{name}": b"sound"}
    refused(mine, put_together(tmp_path / "b.zip", more), "no part of a notebook")


def test_more_files_than_any_notebook_has_are_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backup_format, "_MOST_ENTRIES", 3)
    refused(mine, put_together(tmp_path / "b.zip", contents), "no notebook has so many")


def test_a_recording_that_rows_need_must_be_there(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    without = {name: each for name, each in contents.items() if not name.startswith("clips/")}
    refused(mine, put_together(tmp_path / "b.zip", without), "recordings that this backup needs")


def _alter(content: bytes, folder: Path, *statements: str) -> bytes:
    path = folder / "altered.sqlite3"
    path.write_bytes(content)
    with closing(sqlite3.connect(path)) as connection:
        for statement in statements:
            connection.execute(statement)
        connection.commit()
    return path.read_bytes()


@pytest.mark.parametrize(
    ("statements", "words"),
    [
        (("DROP TABLE fingering_tag",), "fingering_tag is incomplete"),
        (("ALTER TABLE take DROP COLUMN dynamic",), "take is incomplete"),
        (("UPDATE take SET fingering_id = 4711",), "point nowhere"),
        (
            ("CREATE TRIGGER t AFTER INSERT ON take BEGIN DELETE FROM take; END",),
            "parts that no notebook has",
        ),
        (("CREATE VIEW v AS SELECT 1",), "parts that no notebook has"),
        (("DROP TABLE alembic_version",), "schema is not the one"),
    ],
)
def test_a_database_that_is_not_a_whole_notebook_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, statements: tuple[str, ...], words: str
) -> None:
    altered = _alter(contents["notebook.sqlite3"], tmp_path, *statements)
    path = put_together(tmp_path / "b.zip", {**contents, "notebook.sqlite3": altered})
    refused(mine, path, words)


@pytest.mark.parametrize(
    "damage",
    [
        lambda content: b"",
        lambda content: b"no database at all" * 100,
        lambda content: content[: len(content) // 2],
        lambda content: content[:5000] + bytes(9000) + content[14000:],
    ],
)
def test_a_damaged_database_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path, damage: Callable[[bytes], bytes]
) -> None:
    damaged = damage(contents["notebook.sqlite3"])
    path = put_together(tmp_path / "b.zip", {**contents, "notebook.sqlite3": damaged})
    refused(mine, path, "not that of a whole notebook")


@pytest.mark.parametrize("content", [b"", b"Dear reader", b"PK\x05\x06" + bytes(18)])
def test_a_file_that_is_no_archive_is_refused(
    mine: Notebook, tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "letter.zip"
    path.write_bytes(content)
    refused(mine, path, "cannot be read as a backup|manifest.json. is missing")


def test_an_encrypted_archive_is_refused(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    path = put_together(tmp_path / "b.zip", contents)
    whole = bytearray(path.read_bytes())
    for mark, offset in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):  # APPNOTE.TXT 4.4.4, bit 0
        whole[whole.index(mark) + offset] |= 1
    path.write_bytes(whole)
    refused(mine, path, "encrypted")


def test_mutated_archives_are_taken_whole_or_refused_by_name(
    mine: Notebook, contents: Contents, tmp_path: Path
) -> None:
    chance = random.Random(17)
    small = {name: each for name, each in contents.items() if not name.startswith("clips/")}
    whole = put_together(tmp_path / "b.zip", small).read_bytes()
    before = snapshot(mine)
    path = tmp_path / "mutated.zip"
    for _ in range(300):
        mutated = bytearray(whole)
        for _ in range(chance.randrange(1, 4)):
            # mostly in the directory at the end, where the claims are
            reach = chance.choice((len(mutated), 400))
            mutated[-chance.randrange(1, reach + 1)] = chance.randrange(256)
        path.write_bytes(mutated[: chance.choice((len(mutated), len(mutated) - 1))])
        with pytest.raises(BackupRefused):  # without its clips it is never a whole one
            restore_backup(mine, path)
    assert snapshot(mine) == before


def test_a_database_of_another_kind_is_neither_packed_nor_restored(
    contents: Contents, tmp_path: Path
) -> None:
    engine: Any = SimpleNamespace(dialect=SimpleNamespace(name="postgresql"))
    with pytest.raises(BackupRefused, match="back it up with that server's tools"):
        copy_database(engine, tmp_path / "copy")
    elsewhere: Any = SimpleNamespace(database=SimpleNamespace(engine=engine), folder=tmp_path)
    path = put_together(tmp_path / "b.zip", contents)
    with pytest.raises(BackupRefused, match="a server of its own"):
        restore_backup(elsewhere, path)
    assert [each.name for each in tmp_path.iterdir()] == ["b.zip"]
