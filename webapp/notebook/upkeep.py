"""Upkeep: brings derived columns to the present rules, after the schema and before the first page.

What is derived from keys and takes stands in the rows to be searched. When a rule changes its
version is raised here, and every notebook is brought up to date once, in stretches that are
committed one by one: stopped anywhere, the work goes on at the next start.
"""

from collections.abc import Callable
from contextlib import suppress

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload
from sqlalchemy.orm.attributes import flag_modified

from analysis.pitch import NoteNames
from analysis.recording import TakeStanding
from webapp.notebook.store.db import Database
from webapp.notebook.store.derived import refresh_from_keys
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Fingering, Take, Upkeep
from webapp.notebook.takes.evidence import pool_evidence
from webapp.notebook.targets.reading import read_target

# ease; a vented plate is a state of its own; the rolled first finger no half-hole; a free thumb
KEYS_VERSION = 3
EVIDENCE_VERSION = 2  # takes of another note or far from the others are not counted
SPELLING_VERSION = 1  # the sign of what was typed
STRETCH = 500


def _refresh_keys(session: Session, fingering: Fingering) -> None:
    del session
    refresh_from_keys((fingering,))


def _refresh_spelling(session: Session, fingering: Fingering) -> None:
    """Keep the sign that the player typed, in whatever language that was."""
    del session
    if fingering.target_sign is not None:
        return
    for names in NoteNames:
        with suppress(FieldRefused):
            typed = read_target(fingering.target_typed, fingering.instrument, names)
            if typed == fingering.written and typed.sign_cents is not None:
                fingering.target_sign = str(typed.sign_cents)
                return


STEPS: dict[str, tuple[int, Callable[[Session, Fingering], None]]] = {
    "keys": (KEYS_VERSION, _refresh_keys),
    "evidence": (EVIDENCE_VERSION, pool_evidence),
    "spelling": (SPELLING_VERSION, _refresh_spelling),
}
"""Each kind of derived columns, the version of its rules, and what refreshes one row."""


def bring_up_to_date(database: Database) -> tuple[str, ...]:
    """Compute anew the derived columns whose rules have changed since this notebook was opened.

    Returns:
        What the player should know of it, in sentences.
    """
    with database.reading() as session:
        done = {row.name: row.version for row in session.scalars(select(Upkeep))}
    is_judged_anew = done.get("evidence") != EVIDENCE_VERSION
    for name, (version, refresh) in STEPS.items():
        while done.get(name) != version:
            with database.writing() as session:
                if _refresh_stretch(session, name, version, refresh):
                    done[name] = version
    return _tell_set_aside(database) if is_judged_anew else ()


def _tell_set_aside(database: Database) -> tuple[str, ...]:
    aside = Take.standing.not_in([TakeStanding.COUNTS.value, TakeStanding.NO_PITCH.value])
    query = select(func.count(), func.count(Take.fingering_id.distinct())).where(
        aside, Take.deleted_at.is_(None), Take.fingering_id.is_not(None)
    )
    with database.reading() as session:
        takes, fingerings = session.execute(query).one()
    if not takes:
        return ()
    return (
        f"Takes are judged anew: {takes} of {fingerings} "
        f"{'fingering' if fingerings == 1 else 'fingerings'} no longer "
        f"{'counts' if takes == 1 else 'count'}. Each is kept; its page says why, and one touch "
        "says otherwise.",
    )


def _refresh_stretch(
    session: Session, name: str, version: int, refresh: Callable[[Session, Fingering], None]
) -> bool:
    """Refresh the next rows, and tell whether they were the last."""
    row = session.get(Upkeep, name)
    if row is None:
        row = Upkeep(name=name, version=0, done_to=0)
        session.add(row)
    if row.version == version:
        return True  # another program did it meanwhile
    if row.next_version != version:
        row.next_version, row.done_to = version, 0
    query = (
        select(Fingering)
        .where(Fingering.id > row.done_to)
        .options(joinedload(Fingering.instrument))
        .order_by(Fingering.id)
        .limit(STRETCH)
    )
    fingerings = session.scalars(query).all()
    for fingering in fingerings:
        refresh(session, fingering)
        # the player changed nothing; without this the row would be dated today
        flag_modified(fingering, "updated_at")
    is_last = len(fingerings) < STRETCH
    if is_last:
        row.version, row.next_version, row.done_to = version, None, 0
    else:
        row.done_to = fingerings[-1].id
    return is_last
