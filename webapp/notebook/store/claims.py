"""Claims on jobs: of several programs on one database one does a job, once.

A claim is taken by one atomic change of a row and renewed while the job gets on, within the very
transactions that keep its results. That of a program that was killed expires, and another program
takes the job up; the same program, started again on the same folder, does so at once, because the
lock on the folder lets only one live there (`folder_lock`).
"""

import hashlib
import platform
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

from sqlalchemy import delete, func, or_, select, update
from sqlalchemy.orm import Session

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import JobTaken
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.postgresql import BACKEND
from webapp.notebook.store.rows import Claim

LASTS = timedelta(minutes=10)  # far longer than any job goes without renewing its claim
_NAME_CHARACTERS = 80


def take_claim(notebook: Notebook, name: str) -> bool:
    """Take a job on, unless another program has it; tell whether that worked."""
    owner = owner_of(notebook)
    with notebook.database.writing() as session:
        now = _read_clock(session)
        is_free = or_(Claim.owner == owner, Claim.expires_at < now)
        taken = session.scalar(
            update(Claim)
            .where(Claim.name == name, is_free)
            .values(owner=owner, since=now, expires_at=now + LASTS)
            .returning(Claim.name)
        )
        if taken is None and session.get(Claim, name) is None:
            session.add(Claim(name=name, owner=owner, since=now, expires_at=now + LASTS))
            return True
        return taken is not None


def renew_claim(notebook: Notebook, session: Session, name: str) -> None:
    """Say, within a writing transaction of the job, that it gets on.

    Raises:
        JobTaken: the claim expired, and another program has it: nothing of the job may be kept.
    """
    renewed = session.scalar(
        update(Claim)
        .where(Claim.name == name, Claim.owner == owner_of(notebook))
        .values(expires_at=_read_clock(session) + LASTS)
        .returning(Claim.name)
    )
    if renewed is None:
        raise JobTaken


def release_claim(notebook: Notebook, name: str) -> None:
    """Let go of a job, done or not."""
    with notebook.database.writing() as session:
        session.execute(delete(Claim).where(Claim.name == name, Claim.owner == owner_of(notebook)))


@contextmanager
def claiming(notebook: Notebook, name: str) -> Iterator[Callable[[], None]]:
    """Hold a claim until the block ends; yields what renews it between the steps of the job.

    Raises:
        JobTaken: another program has the job.
    """
    if not take_claim(notebook, name):
        raise JobTaken

    def renew() -> None:
        with notebook.database.writing() as session:
            renew_claim(notebook, session, name)

    try:
        yield renew
    finally:
        release_claim(notebook, name)


def owner_of(notebook: Notebook) -> str:
    """Name a program by its machine and its folder, where only one is at work."""
    folder = hashlib.sha256(str(notebook.folder.resolve()).encode("utf-8", "surrogateescape"))
    return f"{platform.node()[:_NAME_CHARACTERS]} {folder.hexdigest()[:16]}"


def _read_clock(session: Session) -> datetime:
    """Read the clock that all programs on this database share."""
    if session.get_bind().dialect.name != BACKEND:
        return now_utc()
    now = session.scalars(select(func.timezone("UTC", func.clock_timestamp()))).one()
    assert isinstance(now, datetime)
    return now.replace(tzinfo=UTC)
