"""The list of a practice session: what is to be played, in which order, and what became of it."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; there was nothing of the kind before."""
    op.create_table(
        "practice_target",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("practice_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("target_text", sa.String(length=40), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=True),
        sa.Column("suggestion_id", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "state IN ('open', 'done', 'skipped')",
            name=op.f("ck_practice_target_state_is_known"),
        ),
        sa.ForeignKeyConstraint(
            ["practice_id"],
            ["practice.id"],
            name=op.f("fk_practice_target_practice_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["fingering_id"],
            ["fingering.id"],
            name=op.f("fk_practice_target_fingering_id"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["suggestion_id"],
            ["suggestion.id"],
            name=op.f("fk_practice_target_suggestion_id"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_practice_target")),
    )
    op.create_index(
        "ix_practice_target_practice_position",
        "practice_target",
        ["practice_id", "position"],
        unique=False,
    )
    op.create_index(
        op.f("ix_practice_target_fingering_id"), "practice_target", ["fingering_id"], unique=False
    )
    op.create_index(
        op.f("ix_practice_target_suggestion_id"), "practice_target", ["suggestion_id"], unique=False
    )


def downgrade() -> None:
    """Remove the lists; sessions and their takes stay."""
    op.drop_table("practice_target")
