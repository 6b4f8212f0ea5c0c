"""Changes: which rows were written, in the order of writing, for what is kept in memory."""

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from webapp.notebook.store.rows.base import Base


class RowChange(Base):
    """One written row, or with no `row_id` any number of rows of a table.

    `stamp` is of chance: the same number with another stamp stands in another history, such as
    that of a backup that was put back.
    """

    __tablename__ = "row_change"

    id: Mapped[int] = mapped_column(primary_key=True)
    stamp: Mapped[str] = mapped_column(String(16))
    table_name: Mapped[str] = mapped_column(String(40))
    row_id: Mapped[int | None]
