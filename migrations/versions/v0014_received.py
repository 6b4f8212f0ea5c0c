"""Received fingerings: tables of their own, and by what this notebook is known to others.

Nothing that is there changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "own_identity",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("player_name", sa.String(length=120), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_identity")),
    )
    op.create_table(
        "sender",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("received_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sender")),
        sa.UniqueConstraint("uid", name=op.f("uq_sender_uid")),
    )
    op.create_table(
        "received_instrument",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sender_id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=16), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("kind_id", sa.String(length=60), nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        _belongs_to("received_instrument", "sender_id", "sender"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_received_instrument")),
    )
    op.create_index(
        "uq_received_instrument_uid", "received_instrument", ["sender_id", "uid"], unique=True
    )
    _make_fingerings()
    op.create_table(
        "received_list",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sender_id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=16), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        sa.Column("accepted_at", sa.DateTime(), nullable=True),
        _belongs_to("received_list", "sender_id", "sender"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_received_list")),
    )
    op.create_index("uq_received_list_uid", "received_list", ["sender_id", "uid"], unique=True)
    op.create_table(
        "received_origin",
        sa.Column("fingering_id", sa.Integer(), nullable=False),
        sa.Column("received_id", sa.Integer(), nullable=True),
        sa.Column("sender_name", sa.String(length=120), nullable=False),
        _belongs_to("received_origin", "fingering_id", "fingering"),
        _belongs_to("received_origin", "received_id", "received_fingering", "SET NULL"),
        sa.PrimaryKeyConstraint("fingering_id", name=op.f("pk_received_origin")),
    )
    op.create_index(op.f("ix_received_origin_received_id"), "received_origin", ["received_id"])


def _make_fingerings() -> None:
    op.create_table(
        "received_fingering",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=16), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("sounding_cents", sa.Double(), nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        _belongs_to("received_fingering", "instrument_id", "received_instrument"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_received_fingering")),
    )
    op.create_index(
        "uq_received_fingering_uid", "received_fingering", ["instrument_id", "uid"], unique=True
    )
    op.create_index("ix_received_fingering_sounding", "received_fingering", ["sounding_cents"])
    op.create_table(
        "received_clip",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=False),
        sa.Column("clip_name", sa.String(length=80), nullable=False),
        sa.Column("clip_format", sa.String(length=10), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        _belongs_to("received_clip", "fingering_id", "received_fingering"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_received_clip")),
        sa.UniqueConstraint("clip_name", name=op.f("uq_received_clip_clip_name")),
    )
    op.create_index("uq_received_clip", "received_clip", ["fingering_id", "sha256"], unique=True)


def _belongs_to(
    table: str, column: str, other: str, ondelete: str = "CASCADE"
) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{other}.id"], name=op.f(f"fk_{table}_{column}"), ondelete=ondelete
    )


def downgrade() -> None:
    """Drop the tables with what came from others."""
    for table in (
        "received_origin", "received_list", "received_clip", "received_fingering",
        "received_instrument", "sender", "own_identity",
    ):  # fmt: skip
        op.drop_table(table)
