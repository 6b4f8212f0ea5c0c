"""What killed work left is cleared at the next start; what is at work is left alone."""

from pathlib import Path

from filelock import FileLock

from webapp.notebook.safekeeping.leftovers import WORK_LOCK, clear_leftovers


def test_folders_of_killed_work_go_and_others_stay(tmp_path: Path) -> None:
    for name in ("backup-killed", "backup-at-work", "restoring", "backups", "clips"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "notebook.sqlite3").write_bytes(b"half")
    with FileLock(tmp_path / "backup-at-work" / WORK_LOCK):
        assert clear_leftovers(tmp_path) == 2
    assert {each.name for each in tmp_path.iterdir()} == {"backup-at-work", "backups", "clips"}
