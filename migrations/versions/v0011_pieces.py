"""Pieces: their originals and answers, and what the player decided about notes."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("composer", sa.String(length=200), nullable=False),
        sa.Column("concert_on", sa.Date(), nullable=True),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece")),
    )
    op.create_table(
        "piece_original",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("clip_name", sa.String(length=80), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("original_name", sa.String(length=255), nullable=False),
        sa.Column("part_number", sa.Integer(), nullable=False),
        sa.Column("part_name", sa.String(length=200), nullable=False),
        sa.Column("note_names", sa.String(length=20), nullable=False),
        sa.Column("transcript", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('file', 'typed')", name=op.f("ck_piece_original_kind_is_known")
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_piece_original_piece_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece_original")),
    )
    op.create_index("ix_piece_original_piece_id", "piece_original", ["piece_id"])
    op.create_table(
        "piece_instrument",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_piece_instrument_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_piece_instrument_piece_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("piece_id", "instrument_id", name=op.f("pk_piece_instrument")),
    )
    op.create_index("ix_piece_instrument_instrument_id", "piece_instrument", ["instrument_id"])
    op.create_table(
        "settled_note",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("written_exact", sa.String(length=40), nullable=False),
        sa.Column("how", sa.String(length=10), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "how IN ('lip', 'substitute', 'leave out', 'ask')",
            name=op.f("ck_settled_note_how_is_known"),
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_settled_note_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_settled_note_piece_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint(
            "piece_id", "instrument_id", "written_exact", name=op.f("pk_settled_note")
        ),
    )
    op.create_index("ix_settled_note_instrument_id", "settled_note", ["instrument_id"])
    op.create_table(
        "fixed_fingering",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("written_exact", sa.String(length=40), nullable=False),
        sa.Column("bar", sa.Integer(), nullable=False),
        sa.Column("onset", sa.String(length=40), nullable=False),
        sa.Column("before_exact", sa.String(length=40), nullable=False),
        sa.Column("after_exact", sa.String(length=40), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('note', 'pitch', 'pattern')", name=op.f("ck_fixed_fingering_kind_is_known")
        ),
        sa.CheckConstraint(
            "(kind = 'note') = (bar >= 0)", name=op.f("ck_fixed_fingering_place_of_note")
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_fixed_fingering_piece_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_fixed_fingering_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["fingering_id"],
            ["fingering.id"],
            name=op.f("fk_fixed_fingering_fingering_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fixed_fingering")),
    )
    op.create_index("ix_fixed_fingering_fingering_id", "fixed_fingering", ["fingering_id"])
    op.create_index("ix_fixed_fingering_instrument_id", "fixed_fingering", ["instrument_id"])
    op.create_index(
        "uq_fixed_fingering_place",
        "fixed_fingering",
        [
            "piece_id",
            "instrument_id",
            "kind",
            "written_exact",
            "bar",
            "onset",
            "before_exact",
            "after_exact",
        ],
        unique=True,
    )
    op.create_table(
        "composer_fingering",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("pitches", sa.String(length=400), nullable=False),
        sa.Column("keys_text", sa.String(length=400), nullable=False),
        sa.Column("fingering_id", sa.Integer(), nullable=True),
        sa.Column("speaks", sa.Boolean(), nullable=True),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_composer_fingering_instrument_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["fingering_id"],
            ["fingering.id"],
            name=op.f("fk_composer_fingering_fingering_id"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"],
            ["piece.id"],
            name=op.f("fk_composer_fingering_piece_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_composer_fingering")),
    )
    op.create_index("ix_composer_fingering_fingering_id", "composer_fingering", ["fingering_id"])
    op.create_index("ix_composer_fingering_instrument_id", "composer_fingering", ["instrument_id"])
    op.create_index(
        "uq_composer_fingering_keys",
        "composer_fingering",
        ["piece_id", "instrument_id", "pitches", "keys_text"],
        unique=True,
    )
    op.create_table(
        "printed_sheet",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("printed_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_printed_sheet_piece_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_printed_sheet")),
    )
    op.create_index("ix_printed_sheet_piece_id", "printed_sheet", ["piece_id"])


def downgrade() -> None:
    """Remove the pieces; fingerings stay."""
    op.drop_table("printed_sheet")
    op.drop_table("composer_fingering")
    op.drop_table("fixed_fingering")
    op.drop_table("settled_note")
    op.drop_table("piece_instrument")
    op.drop_table("piece_original")
    op.drop_table("piece")
