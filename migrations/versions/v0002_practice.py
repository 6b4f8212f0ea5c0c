"""Practice: sessions with a tuning note, and long recordings with the notes found in them."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the four tables, and let a take name its session."""
    _make_practice()
    with op.batch_alter_table("take") as table:
        table.add_column(sa.Column("practice_id", sa.Integer(), nullable=True))
        table.create_foreign_key(
            op.f("fk_take_practice_id"), "practice", ["practice_id"], ["id"], ondelete="SET NULL"
        )
        table.create_index(op.f("ix_take_practice_id"), ["practice_id"], unique=False)
    _make_tuning_note()
    _make_long_recording()
    _make_segment()


def _make_practice() -> None:
    op.create_table(
        "practice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("tuning_a_hz", sa.Double(), nullable=False),
        sa.Column("air_temperature_c", sa.Double(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "tuning_a_hz >= 390 AND tuning_a_hz <= 470", name=op.f("ck_practice_tuning_in_range")
        ),
        _key("practice", "instrument", "CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_practice")),
    )
    op.create_index(
        "ix_practice_instrument_started",
        "practice",
        ["instrument_id", "started_at"],
        unique=False,
    )


def _make_tuning_note() -> None:
    op.create_table(
        "tuning_note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("practice_id", sa.Integer(), nullable=False),
        sa.Column("written_text", sa.String(length=40), nullable=False),
        sa.Column("take_id", sa.Integer(), nullable=True),
        sa.Column("clip_name", sa.String(length=80), nullable=True),
        sa.Column("clip_format", sa.String(length=10), nullable=True),
        sa.Column("sha256", sa.String(length=64), nullable=True),
        sa.Column("original_name", sa.String(length=255), nullable=False),
        sa.Column("method_version", sa.String(length=40), nullable=True),
        sa.Column("verdict", sa.String(length=40), nullable=True),
        sa.Column("f0_hz", sa.Double(), nullable=True),
        sa.Column("f0_uncertainty_cents", sa.Double(), nullable=True),
        sa.Column("details", sa.Text(), nullable=True),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "(take_id IS NULL) <> (clip_name IS NULL)", name=op.f("ck_tuning_note_one_source")
        ),
        _key("tuning_note", "practice", "CASCADE"),
        _key("tuning_note", "take", "CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tuning_note")),
    )
    _index("tuning_note", "practice_id")
    _index("tuning_note", "take_id")


def _make_long_recording() -> None:
    op.create_table(
        "long_recording",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("practice_id", sa.Integer(), nullable=True),
        sa.Column("clip_name", sa.String(length=80), nullable=False),
        sa.Column("clip_format", sa.String(length=10), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("byte_count", sa.Integer(), nullable=False),
        sa.Column("original_name", sa.String(length=255), nullable=False),
        sa.Column("recorded_at", sa.DateTime(), nullable=False),
        sa.Column("dynamic", sa.String(length=4), nullable=True),
        sa.Column("air_temperature_c", sa.Double(), nullable=True),
        sa.Column("tuning_a_hz", sa.Double(), nullable=False),
        sa.Column("duration_s", sa.Double(), nullable=True),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("done_share", sa.Double(), nullable=False),
        sa.Column("problem", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        _key("long_recording", "instrument", "CASCADE"),
        _key("long_recording", "practice", "SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_long_recording")),
        sa.UniqueConstraint("clip_name", name=op.f("uq_long_recording_clip_name")),
    )
    _index("long_recording", "practice_id")
    _index("long_recording", "sha256")
    op.create_index(
        "ix_long_recording_instrument_recorded",
        "long_recording",
        ["instrument_id", "recorded_at"],
        unique=False,
    )


def _make_segment() -> None:
    op.create_table(
        "segment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recording_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("from_s", sa.Double(), nullable=False),
        sa.Column("to_s", sa.Double(), nullable=False),
        sa.Column("steady_from_s", sa.Double(), nullable=False),
        sa.Column("steady_to_s", sa.Double(), nullable=False),
        sa.Column("verdict", sa.String(length=40), nullable=False),
        sa.Column("f0_hz", sa.Double(), nullable=True),
        sa.Column("f0_uncertainty_cents", sa.Double(), nullable=True),
        sa.Column("fingering_id", sa.Integer(), nullable=True),
        sa.Column("take_id", sa.Integer(), nullable=True),
        sa.Column("is_discarded", sa.Boolean(), nullable=False),
        sa.Column("problem", sa.Text(), nullable=False),
        _key("segment", "long_recording", "CASCADE", column="recording_id"),
        _key("segment", "fingering", "SET NULL"),
        _key("segment", "take", "SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_segment")),
    )
    for column in ("recording_id", "fingering_id", "take_id"):
        _index("segment", column)


def _key(
    table: str, parent: str, on_delete: str, *, column: str | None = None
) -> sa.ForeignKeyConstraint:
    name = column or f"{parent}_id"
    return sa.ForeignKeyConstraint(
        [name], [f"{parent}.id"], name=op.f(f"fk_{table}_{name}"), ondelete=on_delete
    )


def _index(table: str, column: str) -> None:
    op.create_index(op.f(f"ix_{table}_{column}"), table, [column], unique=False)


def downgrade() -> None:
    """Remove the four tables and the column of takes."""
    for name in ("segment", "long_recording", "tuning_note"):
        op.drop_table(name)
    with op.batch_alter_table("take") as table:
        table.drop_index(op.f("ix_take_practice_id"))
        table.drop_constraint(op.f("fk_take_practice_id"), type_="foreignkey")
        table.drop_column("practice_id")
    op.drop_table("practice")
