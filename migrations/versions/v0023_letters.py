"""Letters to composers, as players edit them.

Nothing that is there changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "piece_letter",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_piece_letter_piece_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_piece_letter_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("piece_id", "instrument_id", name=op.f("pk_piece_letter")),
    )
    op.create_index(op.f("ix_piece_letter_instrument_id"), "piece_letter", ["instrument_id"])


def downgrade() -> None:
    """Drop the table with its letters."""
    op.drop_table("piece_letter")
