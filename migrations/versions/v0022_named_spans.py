"""Named spans of a long recording: trills beside held notes, and what is kept unsorted."""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0019"
branch_labels = None
depends_on = None

COLUMNS = ("low_hz", "high_hz", "rate_hz")


def upgrade() -> None:
    """Add the columns; what was found before has none of it."""
    for name in COLUMNS:
        op.add_column("segment", sa.Column(name, sa.Double(), nullable=True))
    op.add_column(
        "segment",
        sa.Column("is_unsorted", sa.Boolean(), nullable=False, server_default=sa.false()),
    )


def downgrade() -> None:
    """Remove them; takes that were kept unsorted stay."""
    with op.batch_alter_table("segment") as table:
        table.drop_column("is_unsorted")
        for name in COLUMNS:
            table.drop_column(name)
