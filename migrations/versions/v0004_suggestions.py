"""Suggestions that a player takes up: what was predicted, and what became of it."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; there was nothing of the kind before."""
    op.create_table(
        "suggestion",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("target_text", sa.String(length=40), nullable=False),
        sa.Column("keys_text", sa.Text(), nullable=False),
        sa.Column("base_reference", sa.String(length=80), nullable=False),
        sa.Column("base_keys_text", sa.Text(), nullable=True),
        sa.Column("base_written_text", sa.String(length=40), nullable=True),
        sa.Column("strategy", sa.String(length=30), nullable=False),
        sa.Column("predicted_offset_cents", sa.Double(), nullable=False),
        sa.Column("predicted_sigma_cents", sa.Double(), nullable=False),
        sa.Column("method_version", sa.String(length=40), nullable=False),
        sa.Column("state", sa.String(length=12), nullable=False),
        sa.Column("reason", sa.String(length=20), nullable=True),
        sa.Column("reason_notes", sa.Text(), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=True),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "state IN ('waiting', 'tried', 'kept', 'dismissed')",
            name=op.f("ck_suggestion_state_is_known"),
        ),
        sa.CheckConstraint("predicted_sigma_cents > 0", name=op.f("ck_suggestion_sigma_positive")),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_suggestion_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["fingering_id"],
            ["fingering.id"],
            name=op.f("fk_suggestion_fingering_id"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suggestion")),
    )
    op.create_index(
        "ix_suggestion_instrument_state", "suggestion", ["instrument_id", "state"], unique=False
    )
    op.create_index(
        op.f("ix_suggestion_fingering_id"), "suggestion", ["fingering_id"], unique=False
    )


def downgrade() -> None:
    """Remove the table; fingerings that were logged from suggestions stay."""
    op.drop_table("suggestion")
