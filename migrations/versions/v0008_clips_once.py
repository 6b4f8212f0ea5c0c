"""The same clip once, and claims on jobs.

A clip was refused where it was attached already, and two requests at once could both find that it
was not. Of such twins the one that the player confirmed stays, else the older one; the others go to
the bin with all that they have, what points at them points at the one that stays, and the figures
are pooled anew by the upkeep that follows.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

TAKE = sa.table(
    "take",
    sa.column("id", sa.Integer()),
    sa.column("instrument_id", sa.Integer()),
    sa.column("fingering_id", sa.Integer()),
    sa.column("sha256", sa.String()),
    sa.column("is_confirmed", sa.Boolean()),
    sa.column("deleted_at", sa.DateTime()),
)
RECORDING = sa.table(
    "long_recording",
    sa.column("id", sa.Integer()),
    sa.column("instrument_id", sa.Integer()),
    sa.column("sha256", sa.String()),
    sa.column("deleted_at", sa.DateTime()),
)
POINTING = [
    sa.table(name, sa.column("take_id", sa.Integer())) for name in ("tuning_note", "segment")
]
OUT_OF_BIN = sa.text("deleted_at IS NULL")
UNSORTED = sa.text("fingering_id IS NULL AND deleted_at IS NULL")


def upgrade() -> None:
    """Put twins in the bin, then let there be no more; make the table of claims."""
    _put_twin_takes_in_bin()
    _put_twin_recordings_in_bin()
    for name, table, owner, where in (
        ("uq_take_clip_of_fingering", "take", "fingering_id", OUT_OF_BIN),
        ("uq_take_clip_unsorted", "take", "instrument_id", UNSORTED),
        ("uq_long_recording_clip", "long_recording", "instrument_id", OUT_OF_BIN),
    ):
        op.create_index(
            name,
            table,
            [owner, "sha256"],
            unique=True,
            sqlite_where=where,
            postgresql_where=where,
        )
    op.create_table(
        "claim",
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("owner", sa.String(length=120), nullable=False),
        sa.Column("since", sa.DateTime(), nullable=False),
        sa.Column("expires_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_claim")),
    )


def _put_twin_takes_in_bin() -> None:
    place = sa.func.coalesce(TAKE.c.fingering_id, -TAKE.c.instrument_id)
    query = sa.select(place, TAKE.c.sha256, TAKE.c.id).order_by(
        TAKE.c.is_confirmed.desc(), TAKE.c.id
    )
    found = False
    for kept, twins in _find_twins(query.where(TAKE.c.deleted_at.is_(None))):
        found = True
        _put_in_bin(TAKE, twins)
        for table in POINTING:
            op.execute(sa.update(table).where(table.c.take_id.in_(twins)).values(take_id=kept))
    if found:
        op.execute("DELETE FROM upkeep WHERE name = 'evidence'")


def _put_twin_recordings_in_bin() -> None:
    query = sa.select(RECORDING.c.instrument_id, RECORDING.c.sha256, RECORDING.c.id)
    query = query.where(RECORDING.c.deleted_at.is_(None)).order_by(RECORDING.c.id)
    for _, twins in _find_twins(query):
        _put_in_bin(RECORDING, twins)


def _find_twins(query: sa.Select[int, str, int]) -> Iterator[tuple[int, list[int]]]:
    """Group rows by owner and clip; give the first and the others of each group that has others."""
    groups: dict[tuple[int, str], list[int]] = defaultdict(list)
    for owner, sha256, number in op.get_bind().execute(query):
        groups[owner, sha256].append(number)
    return ((first, others) for first, *others in groups.values() if others)


def _put_in_bin(table: sa.TableClause, numbers: Iterable[int]) -> None:
    now = datetime.now(UTC).replace(tzinfo=None)
    op.execute(sa.update(table).where(table.c.id.in_(numbers)).values(deleted_at=now))


def downgrade() -> None:
    """Let there be twins again; what went to the bin stays there."""
    op.drop_table("claim")
    op.drop_index("uq_long_recording_clip", table_name="long_recording")
    op.drop_index("uq_take_clip_unsorted", table_name="take")
    op.drop_index("uq_take_clip_of_fingering", table_name="take")
