"""Takes by the time they were played: an index, so that the newest are found without reading all.

Nothing that is there changes.
"""

from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the index."""
    op.create_index("ix_take_recorded", "take", ["recorded_at"])


def downgrade() -> None:
    """Take it away."""
    op.drop_index("ix_take_recorded", table_name="take")
