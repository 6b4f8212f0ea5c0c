"""Claims on jobs, on both engines: of several servers on one database one does each job, once.

A second server is the same database and clips with another folder (`owner_of`).
"""

import threading
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from sqlalchemy import update

from tests.webapp.at_once import at_once
from tests.webapp.tones import silent_wav
from webapp.notebook.recordings import splitter, splitting
from webapp.notebook.recordings.recordings import add_recording, find_recording
from webapp.notebook.recordings.splitter import Background
from webapp.notebook.recordings.splitting import claim_of, find_unfinished, work_on
from webapp.notebook.store.claims import (
    LASTS,
    claiming,
    owner_of,
    release_claim,
    renew_claim,
    take_claim,
)
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import JobTaken
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Claim, Segment
from webapp.notebook.takes.takes import TakeNote

JOB = "invented job"
LONGEST_WAIT_S = 20.0


@pytest.fixture
def other(notebook: Notebook, tmp_path: Path) -> Notebook:
    """Another server on the same database."""
    folder = tmp_path / "another folder"
    folder.mkdir()
    return replace(notebook, folder=folder)


@pytest.fixture
def recording(notebook: Notebook, clarinet: int) -> int:
    """A long recording that waits to be split."""
    return add_recording(notebook, clarinet, BytesIO(silent_wav(0.5)), TakeNote())


def let_expire(notebook: Notebook) -> None:
    """As if the owner of every claim had been killed long ago."""
    with notebook.database.writing() as session:
        session.execute(update(Claim).values(expires_at=now_utc() - 2 * LASTS))


def test_of_several_at_once_one_has_the_job(notebook: Notebook, tmp_path: Path) -> None:
    servers = [replace(notebook, folder=tmp_path / str(number)) for number in range(4)]
    has_it: list[str] = []

    def take(server: Notebook) -> None:
        if take_claim(server, JOB):
            has_it.append(owner_of(server))

    assert at_once(*[lambda each=each: take(each) for each in servers]) == []
    assert len(has_it) == 1


def test_a_job_that_was_let_go_is_free_and_one_that_is_held_is_not(
    notebook: Notebook, other: Notebook
) -> None:
    with claiming(notebook, JOB) as renew:
        renew()
        assert not take_claim(other, JOB)
        with pytest.raises(JobTaken, match="doing this already"), claiming(other, JOB):
            pass
        release_claim(other, JOB)  # what it does not have it cannot let go
        assert not take_claim(other, JOB)
    assert take_claim(other, JOB)


def test_the_job_of_a_killed_server_is_taken_up_by_itself_at_once_and_by_others_in_time(
    notebook: Notebook, other: Notebook
) -> None:
    assert take_claim(notebook, JOB)  # killed here
    assert take_claim(notebook, JOB), "the same folder, started again"
    assert not take_claim(other, JOB)
    let_expire(notebook)
    assert take_claim(other, JOB)
    with pytest.raises(JobTaken), notebook.database.writing() as session:
        renew_claim(notebook, session, JOB)


def counted(monkeypatch: pytest.MonkeyPatch, until: Callable[[], object]) -> list[int]:
    """Let the finding of notes wait, and count how often it is done."""
    found: list[int] = []

    def find_notes(sound: object, report: Callable[[float], None]) -> list[Segment]:
        del sound
        found.append(1)
        until()
        report(0.5)
        return []

    monkeypatch.setattr(splitting, "find_notes", find_notes)
    monkeypatch.setattr(splitter, "LOOK_AGAIN_S", 0.02)
    return found


def test_two_servers_split_a_recording_once(
    notebook: Notebook, other: Notebook, recording: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, looked = threading.Event(), threading.Event()

    def wait() -> None:
        begun.set()
        looked.wait(LONGEST_WAIT_S)

    found = counted(monkeypatch, wait)
    first, second = Background(notebook), Background(other)
    first.wake()
    assert begun.wait(LONGEST_WAIT_S)
    assert not work_on(other, recording, stop=threading.Event())
    second.wake()
    looked.set()
    assert first.wait(LONGEST_WAIT_S)
    assert second.wait(LONGEST_WAIT_S)
    assert len(found) == 1
    assert find_recording(notebook, recording).state == "ready"


def test_another_server_takes_up_what_a_killed_one_left(
    notebook: Notebook, other: Notebook, recording: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = counted(monkeypatch, lambda: None)
    assert take_claim(notebook, claim_of(recording))  # killed here
    second = Background(other)
    second.wake()
    assert not second.wait(0.1), "it looks again from time to time"
    assert found == []
    let_expire(notebook)
    assert second.wait(LONGEST_WAIT_S)
    assert len(found) == 1
    assert find_unfinished(notebook) == ()


def test_a_server_that_slept_too_long_keeps_nothing(
    notebook: Notebook, other: Notebook, recording: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lose() -> None:
        let_expire(notebook)
        assert take_claim(other, claim_of(recording))

    found = counted(monkeypatch, lose)
    assert work_on(notebook, recording, stop=threading.Event())
    assert len(found) == 1
    assert find_recording(notebook, recording).state == "splitting"
    assert not work_on(notebook, recording, stop=threading.Event()), "the other one has it"
