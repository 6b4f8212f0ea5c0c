"""Full, locked and read-only disks are said in a sentence, and nothing half-done is kept.

The clip's disk is full where writing beyond a limit on the size of files fails (RLIMIT_FSIZE), the
database's where its pages may not grow (PRAGMA max_page_count).
"""

import errno
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.engine.interfaces import DBAPIConnection

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import file_of
from tests.webapp.pages.sending import error_of, send
from tests.webapp.tones import tone_wav
from webapp.app import create_app
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.store import disk_trouble
from webapp.notebook.store.disk_trouble import find_disk_trouble
from webapp.notebook.store.notebook import Notebook


def test_a_clip_that_finds_no_room_is_told_so_and_leaves_nothing(
    filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, rows = filled
    client = Browser(create_app(notebook))
    before = notebook.clips.names()

    def find_no_room(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("webapp.notebook.store.clips.os.fsync", find_no_room)
    answer = send(client, f"/fingerings/{rows.base}/takes.json", tone_wav(466.0, seed=8))
    assert answer.status_code == 507
    error = error_of(answer)
    assert error["kind"] == "disk-full"
    assert "MB are left" in error["message"] and "kept in the browser" in error["message"]
    assert notebook.clips.names() == before
    assert list((notebook.clips.folder / "staging").iterdir()) == []
    assert len(open_fingering(notebook, rows.base).takes) == 2


def test_a_database_that_cannot_grow_is_told_so(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled

    def limit(connection: DBAPIConnection, record: object) -> None:
        del record
        connection.cursor().execute("PRAGMA max_page_count = 1")

    event.listen(notebook.database.engine, "connect", limit)
    notebook.close()
    client = Browser(create_app(notebook))
    page = client.submit(
        f"/instruments/{rows.soprano}/edit", notes="long " * 3000, name="Invented B-flat"
    )
    assert page.status == 507
    assert "is full" in page.text


def test_a_locked_database_is_told_so(
    filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, rows = filled
    client = Browser(create_app(notebook))

    def be_impatient(connection: DBAPIConnection, record: object) -> None:
        del record
        connection.cursor().execute("PRAGMA busy_timeout = 10")

    event.listen(notebook.database.engine, "connect", be_impatient)
    notebook.close()
    with closing(sqlite3.connect(file_of(notebook))) as other:
        other.execute("BEGIN IMMEDIATE")
        page = client.submit(f"/instruments/{rows.soprano}/edit", name="Invented B-flat")
    assert page.status == 503
    assert "Try again in a moment" in page.text


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (OSError(errno.ENOSPC, ""), 507),
        (OSError(errno.EFBIG, ""), 507),
        (OSError(errno.EROFS, ""), 503),
        (PermissionError(errno.EACCES, ""), 503),
        (FileNotFoundError(errno.ENOENT, ""), None),
        (ValueError("anything"), None),
    ],
)
def test_other_errors_stay_unforeseen(tmp_path: Path, error: Exception, status: int | None) -> None:
    found = find_disk_trouble(error, tmp_path)
    assert (found.status if found else None) == status
    assert disk_trouble.FULL_STATUS == 507  # RFC 4918, section 11.5
