"""Systems of signs: the column takes the sizes of arrows and flats beside the name of the system,
and the sign that a note was spelled with.

The two earlier choices go on under the names they had.
"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Widen the column, no value changes; a fingering knows the sign its note was spelled with."""
    op.add_column("fingering", sa.Column("target_sign", sa.String(length=20), nullable=True))
    with op.batch_alter_table("preferences") as table:
        table.alter_column(
            "accidental_style",
            existing_type=sa.String(length=20),
            type_=sa.String(length=120),
            existing_nullable=False,
        )


def downgrade() -> None:
    """Go back to two choices: arrows of any kind become arrows, all else the usual signs."""
    op.drop_column("fingering", "target_sign")
    op.execute("DELETE FROM upkeep WHERE name = 'spelling'")  # what it filled is gone
    op.execute(
        "UPDATE preferences SET accidental_style = CASE WHEN accidental_style LIKE 'arrows%' "
        "THEN 'arrows' ELSE 'stein-zimmermann' END"
    )
    with op.batch_alter_table("preferences") as table:
        table.alter_column(
            "accidental_style",
            existing_type=sa.String(length=120),
            type_=sa.String(length=20),
            existing_nullable=False,
        )
