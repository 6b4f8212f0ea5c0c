"""Own pages: files with pages of a part, and the marks on them.

Nothing that is there changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "page_file",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("clip_name", sa.String(length=80), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("original_name", sa.String(length=255), nullable=False),
        sa.Column("sizes", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('pdf', 'png', 'jpeg')", name=op.f("ck_page_file_kind_is_known")
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_page_file_piece_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_page_file")),
    )
    op.create_index(op.f("ix_page_file_piece_id"), "page_file", ["piece_id"])
    op.create_table(
        "page_mark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("file_id", sa.Integer(), nullable=False),
        sa.Column("page", sa.Integer(), nullable=False),
        sa.Column("x_mm", sa.Double(), nullable=False),
        sa.Column("y_mm", sa.Double(), nullable=False),
        sa.Column("pitches", sa.String(length=400), nullable=False),
        sa.Column("transposition_cents", sa.Integer(), nullable=False),
        sa.Column("bar_label", sa.String(length=20), nullable=False),
        sa.Column("onset", sa.String(length=40), nullable=False),
        sa.Column("is_second", sa.Boolean(), nullable=False),
        sa.Column("form", sa.String(length=10), nullable=False),
        sa.Column("seen_keys", sa.String(length=400), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "form IN ('drawing', 'letter')", name=op.f("ck_page_mark_form_is_known")
        ),
        sa.CheckConstraint("page >= 0", name=op.f("ck_page_mark_page_is_there")),
        sa.ForeignKeyConstraint(
            ["file_id"], ["page_file.id"], name=op.f("fk_page_mark_file_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_page_mark")),
    )
    op.create_index("ix_page_mark_place", "page_mark", ["file_id", "page"])


def downgrade() -> None:
    """Drop the tables; the files stay, and `check` calls them left over."""
    op.drop_table("page_mark")
    op.drop_table("page_file")
