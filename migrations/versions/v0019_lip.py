"""Reach of the lip: how far the player says that it goes, down and up, below and in the altissimo.

Nothing that is there changes; without a figure what is usual counts.
"""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None
COLUMNS = ("lip_down_cents", "lip_up_cents", "lip_down_high_cents", "lip_up_high_cents")


def upgrade() -> None:
    """Add the columns, empty."""
    for name in COLUMNS:
        op.add_column("preferences", sa.Column(name, sa.Double(), nullable=True))


def downgrade() -> None:
    """Drop the columns."""
    with op.batch_alter_table("preferences") as table:
        for name in COLUMNS:
            table.drop_column(name)
