"""Own layouts, keys that an instrument lacks or calls otherwise, and which fingerings are the same.

The state of the holes (`hole_signature`) is filled by the notebook's upkeep after the migration: a
migration asks no rule that may change later.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table and the columns, and fill what is derived."""
    op.create_table(
        "own_layout",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("name", sa.String(length=600), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("toml", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_layout")),
    )
    with op.batch_alter_table("instrument") as table:
        table.add_column(sa.Column("own_layout_id", sa.String(length=60), nullable=True))
        table.add_column(sa.Column("without_keys", sa.Text(), nullable=True))
        table.add_column(sa.Column("key_names", sa.Text(), nullable=True))
        table.create_foreign_key(
            op.f("fk_instrument_own_layout_id"), "own_layout", ["own_layout_id"], ["id"]
        )
        table.create_index(op.f("ix_instrument_own_layout_id"), ["own_layout_id"], unique=False)
    # Not a batch: a new column with a default needs no copy of what may be the largest table.
    op.add_column("fingering", sa.Column("hole_signature", sa.String(length=500), nullable=True))
    op.add_column(
        "fingering",
        sa.Column("shares_evidence", sa.Boolean(), nullable=False, server_default=sa.false()),
    )
    op.create_index(
        "ix_fingering_same_holes", "fingering", ["instrument_id", "hole_signature"], unique=False
    )


def downgrade() -> None:
    """Remove them again; instruments on an own layout keep its name and can't be opened."""
    op.drop_index("ix_fingering_same_holes", table_name="fingering")
    with op.batch_alter_table("fingering") as table:
        table.drop_column("shares_evidence")
        table.drop_column("hole_signature")
    with op.batch_alter_table("instrument") as table:
        table.drop_index(op.f("ix_instrument_own_layout_id"))
        table.drop_constraint(op.f("fk_instrument_own_layout_id"), type_="foreignkey")
        table.drop_column("key_names")
        table.drop_column("without_keys")
        table.drop_column("own_layout_id")
    op.drop_table("own_layout")
