"""The first notebook: instruments, fingerings, takes, measurements, preferences."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table."""
    op.create_table(
        "instrument",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("kind_id", sa.String(length=60), nullable=False),
        sa.Column("layout_id", sa.String(length=60), nullable=False),
        sa.Column("layout_version", sa.Integer(), nullable=False),
        sa.Column("transposition_cents", sa.Integer(), nullable=False),
        sa.Column("tuning_a_hz", sa.Double(), nullable=False),
        sa.Column("mouthpiece", sa.String(length=200), nullable=False),
        sa.Column("reed", sa.String(length=200), nullable=False),
        sa.Column("barrel", sa.String(length=200), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "tuning_a_hz >= 390 AND tuning_a_hz <= 470", name=op.f("ck_instrument_tuning_in_range")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instrument")),
    )
    op.create_table(
        "preferences",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("note_names", sa.String(length=20), nullable=False),
        sa.Column("accidental_style", sa.String(length=20), nullable=False),
        sa.Column("tolerance_cents", sa.Double(), nullable=False),
        sa.Column("theme", sa.String(length=10), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_preferences_single_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_preferences")),
    )
    op.create_table(
        "fingering",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("keys_text", sa.Text(), nullable=False),
        sa.Column("target_text", sa.String(length=40), nullable=False),
        sa.Column("target_typed", sa.String(length=120), nullable=False),
        sa.Column("strategy", sa.String(length=30), nullable=False),
        sa.Column("base_id", sa.Integer(), nullable=True),
        sa.Column("base_keys_text", sa.Text(), nullable=True),
        sa.Column("base_written_text", sa.String(length=40), nullable=True),
        sa.Column("resistance", sa.Integer(), nullable=True),
        sa.Column("resistance_notes", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("does_not_speak", sa.Boolean(), nullable=False),
        sa.Column("has_half_hole", sa.Boolean(), nullable=False),
        sa.Column("written_cents", sa.Double(), nullable=False),
        sa.Column("target_cents", sa.Double(), nullable=False),
        sa.Column("take_count", sa.Integer(), nullable=False),
        sa.Column("offset_cents", sa.Double(), nullable=True),
        sa.Column("offset_uncertainty_cents", sa.Double(), nullable=True),
        sa.Column("sounding_cents", sa.Double(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "resistance BETWEEN 1 AND 5", name=op.f("ck_fingering_resistance_in_range")
        ),
        sa.ForeignKeyConstraint(
            ["base_id"], ["fingering.id"], name=op.f("fk_fingering_base_id"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_fingering_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fingering")),
    )
    op.create_index(op.f("ix_fingering_base_id"), "fingering", ["base_id"], unique=False)
    op.create_index(
        op.f("ix_fingering_instrument_id"), "fingering", ["instrument_id"], unique=False
    )
    op.create_index(
        "ix_fingering_instrument_sounding",
        "fingering",
        ["instrument_id", "sounding_cents", "deleted_at"],
        unique=False,
    )
    op.create_index(
        "ix_fingering_overview",
        "fingering",
        ["instrument_id", "deleted_at", "does_not_speak", "written_cents", "take_count"],
        unique=False,
    )
    op.create_index(
        "ix_fingering_sounding", "fingering", ["sounding_cents", "deleted_at"], unique=False
    )
    op.create_table(
        "fingering_tag",
        sa.Column("fingering_id", sa.Integer(), nullable=False),
        sa.Column("tag", sa.String(length=60), nullable=False),
        sa.ForeignKeyConstraint(
            ["fingering_id"],
            ["fingering.id"],
            name=op.f("fk_fingering_tag_fingering_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("fingering_id", "tag", name=op.f("pk_fingering_tag")),
    )
    op.create_index(op.f("ix_fingering_tag_tag"), "fingering_tag", ["tag"], unique=False)
    op.create_table(
        "take",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=False),
        sa.Column("clip_name", sa.String(length=80), nullable=False),
        sa.Column("clip_format", sa.String(length=10), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("byte_count", sa.Integer(), nullable=False),
        sa.Column("original_name", sa.String(length=255), nullable=False),
        sa.Column("recorded_at", sa.DateTime(), nullable=False),
        sa.Column("dynamic", sa.String(length=4), nullable=True),
        sa.Column("air_temperature_c", sa.Double(), nullable=True),
        sa.Column("tuning_a_hz", sa.Double(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("byte_count > 0", name=op.f("ck_take_clip_not_empty")),
        sa.ForeignKeyConstraint(
            ["fingering_id"],
            ["fingering.id"],
            name=op.f("fk_take_fingering_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_take")),
        sa.UniqueConstraint("clip_name", name=op.f("uq_take_clip_name")),
    )
    op.create_index(op.f("ix_take_fingering_id"), "take", ["fingering_id"], unique=False)
    op.create_index(op.f("ix_take_sha256"), "take", ["sha256"], unique=False)
    op.create_table(
        "measurement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("take_id", sa.Integer(), nullable=False),
        sa.Column("method_version", sa.String(length=40), nullable=False),
        sa.Column("verdict", sa.String(length=40), nullable=False),
        sa.Column("f0_hz", sa.Double(), nullable=True),
        sa.Column("f0_uncertainty_cents", sa.Double(), nullable=True),
        sa.Column("spread_cents", sa.Double(), nullable=True),
        sa.Column("drift_cents_per_s", sa.Double(), nullable=True),
        sa.Column("centroid_hz", sa.Double(), nullable=True),
        sa.Column("brightness_partials", sa.Double(), nullable=True),
        sa.Column("duration_s", sa.Double(), nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        sa.Column("measured_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["take_id"], ["take.id"], name=op.f("fk_measurement_take_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_measurement")),
    )
    op.create_index(
        "uq_measurement_take_version", "measurement", ["take_id", "method_version"], unique=True
    )


def downgrade() -> None:
    """Remove every table."""
    op.drop_index("uq_measurement_take_version", table_name="measurement")
    op.drop_table("measurement")
    op.drop_index(op.f("ix_take_sha256"), table_name="take")
    op.drop_index(op.f("ix_take_fingering_id"), table_name="take")
    op.drop_table("take")
    op.drop_index(op.f("ix_fingering_tag_tag"), table_name="fingering_tag")
    op.drop_table("fingering_tag")
    op.drop_index("ix_fingering_sounding", table_name="fingering")
    op.drop_index("ix_fingering_overview", table_name="fingering")
    op.drop_index("ix_fingering_instrument_sounding", table_name="fingering")
    op.drop_index(op.f("ix_fingering_instrument_id"), table_name="fingering")
    op.drop_index(op.f("ix_fingering_base_id"), table_name="fingering")
    op.drop_table("fingering")
    op.drop_table("preferences")
    op.drop_table("instrument")
