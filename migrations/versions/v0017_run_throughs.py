"""Run-throughs: passages played at tempo, and what each of their notes did.

Nothing that is there changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "run_through",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("clip_name", sa.String(length=80), nullable=False),
        sa.Column("clip_format", sa.String(length=10), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("byte_count", sa.Integer(), nullable=False),
        sa.Column("first_bar", sa.Integer(), nullable=False),
        sa.Column("last_bar", sa.Integer(), nullable=False),
        sa.Column("first_label", sa.String(length=40), nullable=False),
        sa.Column("last_label", sa.String(length=40), nullable=False),
        sa.Column("quarters_per_minute", sa.Double(), nullable=False),
        sa.Column("tuning_a_hz", sa.Double(), nullable=False),
        sa.Column("duration_s", sa.Double(), nullable=False),
        sa.Column("tempo_share", sa.Double(), nullable=False),
        sa.Column("uneven_s", sa.Double(), nullable=True),
        sa.Column("shift_cents", sa.Double(), nullable=False),
        sa.Column("extra_count", sa.Integer(), nullable=False),
        sa.Column("played_at", sa.DateTime(), nullable=False),
        _belongs_to("run_through", "piece_id", "piece"),
        _belongs_to("run_through", "instrument_id", "instrument"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run_through")),
        sa.UniqueConstraint("clip_name", name=op.f("uq_run_through_clip_name")),
    )
    op.create_index("ix_run_through_piece_played", "run_through", ["piece_id", "played_at"])
    op.create_index(op.f("ix_run_through_instrument_id"), "run_through", ["instrument_id"])
    op.create_index(op.f("ix_run_through_sha256"), "run_through", ["sha256"])
    op.create_table(
        "run_through_note",
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("bar_label", sa.String(length=40), nullable=False),
        sa.Column("written", sa.String(length=80), nullable=False),
        sa.Column("written_exact", sa.String(length=40), nullable=False),
        sa.Column("is_trill", sa.Boolean(), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=True),
        sa.Column("held_cents", sa.Double(), nullable=True),
        sa.Column("held_uncertainty_cents", sa.Double(), nullable=True),
        sa.Column("context_cents", sa.Double(), nullable=True),
        sa.Column("context_uncertainty_cents", sa.Double(), nullable=True),
        sa.Column("wrong_cents", sa.Double(), nullable=True),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.Column("right_times", sa.Integer(), nullable=False),
        sa.Column("late_s", sa.Double(), nullable=True),
        _belongs_to("run_through_note", "run_id", "run_through"),
        _belongs_to("run_through_note", "fingering_id", "fingering", "SET NULL"),
        sa.PrimaryKeyConstraint("run_id", "position", name=op.f("pk_run_through_note")),
    )
    op.create_index("ix_run_through_note_written", "run_through_note", ["written_exact"])
    op.create_index(op.f("ix_run_through_note_fingering_id"), "run_through_note", ["fingering_id"])


def _belongs_to(
    table: str, column: str, other: str, ondelete: str = "CASCADE"
) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{other}.id"], name=op.f(f"fk_{table}_{column}"), ondelete=ondelete
    )


def downgrade() -> None:
    """Drop the tables with what was played."""
    op.drop_table("run_through_note")
    op.drop_table("run_through")
