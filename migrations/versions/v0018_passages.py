"""Passages of pieces: bars, tempo, and the fingerings as they were last shown.

Nothing that is there changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "passage",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("first_bar", sa.Integer(), nullable=False),
        sa.Column("last_bar", sa.Integer(), nullable=False),
        sa.Column("quarters_per_minute", sa.Double(), nullable=True),
        sa.Column("emphasis", sa.String(length=20), nullable=False),
        sa.Column("shown", sa.Text(), nullable=False),
        sa.Column("shown_at", sa.DateTime(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "first_bar >= 0 AND last_bar >= first_bar", name=op.f("ck_passage_bars_in_order")
        ),
        sa.CheckConstraint(
            "emphasis IN ('safest', 'most in tune')", name=op.f("ck_passage_emphasis_is_known")
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_passage_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_passage_piece_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_passage")),
    )
    op.create_index("ix_passage_instrument_id", "passage", ["instrument_id"])
    op.create_index(
        "uq_passage_bars",
        "passage",
        ["piece_id", "instrument_id", "first_bar", "last_bar"],
        unique=True,
    )


def downgrade() -> None:
    """Remove the table."""
    op.drop_table("passage")
