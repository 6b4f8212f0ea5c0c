"""The player's choices, a note's own tolerance, and what an order of merit is computed from.

The new columns of fingerings are derived; they are filled by the notebook's upkeep after the
migration, which asks the rules of its day.
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables and the columns."""
    op.create_table(
        "choice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("written_exact", sa.String(length=40), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(length=10), nullable=False),
        sa.Column("circumstance", sa.String(length=10), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "role IN ('mine', 'alternate', 'rejected')", name=op.f("ck_choice_role_is_known")
        ),
        sa.CheckConstraint(
            "circumstance IN ('always', 'soft', 'loud', 'fast', 'trill')",
            name=op.f("ck_choice_circumstance_is_known"),
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_choice_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["fingering_id"],
            ["fingering.id"],
            name=op.f("fk_choice_fingering_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_choice")),
    )
    op.create_index(
        "uq_choice_mine",
        "choice",
        ["instrument_id", "written_exact", "circumstance"],
        unique=True,
        sqlite_where=sa.text("role = 'mine'"),
        postgresql_where=sa.text("role = 'mine'"),
    )
    op.create_index(
        "uq_choice_word", "choice", ["fingering_id", "written_exact", "circumstance"], unique=True
    )
    op.create_table(
        "note_tolerance",
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("written_exact", sa.String(length=40), nullable=False),
        sa.Column("tolerance_cents", sa.Double(), nullable=False),
        sa.CheckConstraint(
            "tolerance_cents > 0", name=op.f("ck_note_tolerance_tolerance_positive")
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_note_tolerance_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("instrument_id", "written_exact", name=op.f("pk_note_tolerance")),
    )
    op.create_table(
        "upkeep",
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("next_version", sa.Integer(), nullable=True),
        sa.Column("done_to", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_upkeep")),
    )
    # Not batches: new columns need no copy of what may be the largest table.
    op.add_column("fingering", sa.Column("ease", sa.Double(), nullable=True))
    op.add_column("fingering", sa.Column("spread_cents", sa.Double(), nullable=True))
    op.add_column(
        "fingering",
        sa.Column("failed_take_count", sa.Integer(), nullable=False, server_default=sa.text("0")),
    )


def downgrade() -> None:
    """Remove the choices; fingerings and takes stay."""
    with op.batch_alter_table("fingering") as table:
        table.drop_column("failed_take_count")
        table.drop_column("spread_cents")
        table.drop_column("ease")
    op.drop_table("upkeep")
    op.drop_table("note_tolerance")
    op.drop_table("choice")
