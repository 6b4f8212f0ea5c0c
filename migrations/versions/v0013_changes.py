"""Log of changes: which rows were written, so that what is kept in memory can follow."""

import secrets

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, with a first line from which a reader can start."""
    change = op.create_table(
        "row_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("stamp", sa.String(length=16), nullable=False),
        sa.Column("table_name", sa.String(length=40), nullable=False),
        sa.Column("row_id", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_row_change")),
    )
    op.execute(
        sa.insert(change).values(stamp=secrets.token_hex(8), table_name="row_change", row_id=None)
    )


def downgrade() -> None:
    """Drop the table; nothing in it is the player's."""
    op.drop_table("row_change")
