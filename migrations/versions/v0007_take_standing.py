"""Standing of takes, unsorted takes, takes played watching, and the day's set-up.

A take may belong to an instrument alone until it is sorted. Standings, and what fingerings know of
them, are derived; the notebook's upkeep fills them after the migration. A practice may have several
tuning notes that count from here on: of those that are there, its newest one goes on as the only
one.
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the columns; every take is given the instrument of its fingering."""
    op.add_column("take", sa.Column("instrument_id", sa.Integer(), nullable=True))
    op.execute(
        "UPDATE take SET instrument_id = (SELECT fingering.instrument_id FROM fingering "
        "WHERE fingering.id = take.fingering_id)"
    )
    with op.batch_alter_table("take") as table:
        table.alter_column("fingering_id", existing_type=sa.Integer(), nullable=True)
        table.alter_column("instrument_id", existing_type=sa.Integer(), nullable=False)
        table.create_foreign_key(
            op.f("fk_take_instrument_id"),
            "instrument",
            ["instrument_id"],
            ["id"],
            ondelete="CASCADE",
        )
        table.add_column(sa.Column("meant_text", sa.String(length=40), nullable=True))
        table.add_column(
            sa.Column("is_watched", sa.Boolean(), nullable=False, server_default=sa.false())
        )
        table.add_column(
            sa.Column("is_confirmed", sa.Boolean(), nullable=False, server_default=sa.false())
        )
        table.add_column(
            sa.Column("standing", sa.String(length=20), nullable=False, server_default="counts")
        )
        table.create_index(
            "ix_take_unsorted", ["instrument_id", "fingering_id", "recorded_at"], unique=False
        )
    op.add_column(
        "measurement",
        sa.Column("is_spoilt", sa.Boolean(), nullable=False, server_default=sa.false()),
    )
    op.add_column("fingering", sa.Column("speaks_softly", sa.Boolean(), nullable=True))
    op.add_column(
        "fingering",
        sa.Column("set_aside_count", sa.Integer(), nullable=False, server_default=sa.text("0")),
    )
    op.add_column(
        "fingering",
        sa.Column("is_watched", sa.Boolean(), nullable=False, server_default=sa.false()),
    )
    op.add_column(
        "preferences",
        sa.Column("version", sa.Integer(), nullable=False, server_default=sa.text("1")),
    )
    op.add_column("practice", sa.Column("reed", sa.String(length=200), nullable=True))
    op.add_column("practice", sa.Column("barrel_pull_mm", sa.Double(), nullable=True))
    op.add_column("tuning_note", sa.Column("recorded_at", sa.DateTime(), nullable=True))
    op.add_column(
        "tuning_note",
        sa.Column("is_left_out", sa.Boolean(), nullable=False, server_default=sa.false()),
    )
    op.execute(
        "UPDATE tuning_note SET is_left_out = 1 "
        "WHERE id NOT IN (SELECT max(id) FROM tuning_note GROUP BY practice_id)"
    )


def downgrade() -> None:
    """Remove the columns; takes without a fingering have no place in the earlier schema."""
    op.drop_column("tuning_note", "is_left_out")
    op.drop_column("tuning_note", "recorded_at")
    with op.batch_alter_table("preferences") as table:
        table.drop_column("version")
    with op.batch_alter_table("practice") as table:
        table.drop_column("barrel_pull_mm")
        table.drop_column("reed")
    with op.batch_alter_table("fingering") as table:
        table.drop_column("is_watched")
        table.drop_column("set_aside_count")
        table.drop_column("speaks_softly")
    with op.batch_alter_table("measurement") as table:
        table.drop_column("is_spoilt")
    op.execute("DELETE FROM upkeep WHERE name = 'evidence'")  # takes were judged otherwise
    unsorted = "(SELECT id FROM take WHERE fingering_id IS NULL)"
    op.execute(f"DELETE FROM measurement WHERE take_id IN {unsorted}")
    op.execute("DELETE FROM take WHERE fingering_id IS NULL")
    with op.batch_alter_table("take") as table:
        table.drop_index("ix_take_unsorted")
        table.drop_column("standing")
        table.drop_column("is_confirmed")
        table.drop_column("is_watched")
        table.drop_column("meant_text")
        table.drop_constraint(op.f("fk_take_instrument_id"), type_="foreignkey")
        table.drop_column("instrument_id")
        table.alter_column("fingering_id", existing_type=sa.Integer(), nullable=False)
