"""Two-note loops: recordings of a slur back and forth, and loops on practice lists.

Nothing that is there changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None

LISTED = (
    ("keys_text", sa.Text()),
    ("second_text", sa.String(length=40)),
    ("second_keys_text", sa.Text()),
)


def upgrade() -> None:
    """Make the table, and the columns of a list; what is on a list is no loop."""
    op.create_table(
        "two_note_loop",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("practice_id", sa.Integer(), nullable=True),
        sa.Column("lower_text", sa.String(length=40), nullable=False),
        sa.Column("lower_keys_text", sa.Text(), nullable=False),
        sa.Column("upper_text", sa.String(length=40), nullable=False),
        sa.Column("upper_keys_text", sa.Text(), nullable=False),
        sa.Column("clip_name", sa.String(length=80), nullable=False),
        sa.Column("clip_format", sa.String(length=10), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("byte_count", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(), nullable=False),
        sa.Column("tuning_a_hz", sa.Double(), nullable=False),
        sa.Column("duration_s", sa.Double(), nullable=False),
        sa.Column("method_version", sa.String(length=40), nullable=False),
        sa.Column("change_count", sa.Integer(), nullable=False),
        sa.Column("rate_hz", sa.Double(), nullable=False),
        sa.Column("unevenness", sa.Double(), nullable=False),
        sa.Column("up_s", sa.Double(), nullable=True),
        sa.Column("up_uncertainty_s", sa.Double(), nullable=True),
        sa.Column("down_s", sa.Double(), nullable=True),
        sa.Column("down_uncertainty_s", sa.Double(), nullable=True),
        sa.Column("break_count", sa.Integer(), nullable=False),
        sa.Column("silent_count", sa.Integer(), nullable=False),
        sa.Column("other_count", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("byte_count > 0", name=op.f("ck_two_note_loop_clip_not_empty")),
        _belongs_to("instrument_id", "instrument", "CASCADE"),
        _belongs_to("practice_id", "practice", "SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_two_note_loop")),
        sa.UniqueConstraint("clip_name", name=op.f("uq_two_note_loop_clip_name")),
    )
    op.create_index(
        "ix_two_note_loop_instrument_recorded", "two_note_loop", ["instrument_id", "recorded_at"]
    )
    op.create_index(op.f("ix_two_note_loop_practice_id"), "two_note_loop", ["practice_id"])
    op.create_index(op.f("ix_two_note_loop_sha256"), "two_note_loop", ["sha256"])
    op.create_index(
        "uq_two_note_loop_clip",
        "two_note_loop",
        ["instrument_id", "sha256"],
        unique=True,
        sqlite_where=sa.text("deleted_at IS NULL"),
        postgresql_where=sa.text("deleted_at IS NULL"),
    )
    for name, kind in LISTED:
        op.add_column("practice_target", sa.Column(name, kind, nullable=True))


def _belongs_to(column: str, other: str, ondelete: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{other}.id"], name=op.f(f"fk_two_note_loop_{column}"), ondelete=ondelete
    )


def downgrade() -> None:
    """Drop the table with what was recorded, and the loops of lists."""
    op.drop_table("two_note_loop")
    op.execute("DELETE FROM practice_target WHERE second_text IS NOT NULL")
    with op.batch_alter_table("practice_target") as table:
        for name, _ in reversed(LISTED):
            table.drop_column(name)
