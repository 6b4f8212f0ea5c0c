"""Right thumb of an instrument: whether it carries, and which keys it works.

Nothing that is there changes; without a word what is usual for the keywork counts.
"""

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column, empty."""
    op.add_column("instrument", sa.Column("right_thumb", sa.String(20), nullable=True))


def downgrade() -> None:
    """Drop the column."""
    with op.batch_alter_table("instrument") as table:
        table.drop_column("right_thumb")
