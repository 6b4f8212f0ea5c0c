"""Secrets are for their owner's eyes, and never half written."""

import stat
from pathlib import Path

import pytest

from webapp.sharing.folder import SharingFolder


def test_what_is_written_can_be_read_by_its_owner_only(tmp_path: Path) -> None:
    folder = SharingFolder.of(tmp_path)
    folder.write(folder.server_key, b"secret")
    assert stat.S_IMODE(folder.server_key.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.path.stat().st_mode) == 0o700


def test_a_file_that_was_open_to_others_is_closed_by_writing_it_again(tmp_path: Path) -> None:
    folder = SharingFolder.of(tmp_path)
    folder.write(folder.passphrase, b"old")
    folder.passphrase.chmod(0o644)
    folder.write(folder.passphrase, b"new")
    assert stat.S_IMODE(folder.passphrase.stat().st_mode) == 0o600
    assert folder.passphrase.read_bytes() == b"new"


def test_a_write_that_fails_leaves_the_file_before_and_no_draft(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = SharingFolder.of(tmp_path)
    folder.write(folder.server, b"before")

    def fail(_: int) -> None:
        raise OSError("no space left")

    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(OSError, match="no space"):
        folder.write(folder.server, b"after")
    assert folder.server.read_bytes() == b"before"
    assert [path.name for path in folder.path.iterdir()] == ["server.pem"]
