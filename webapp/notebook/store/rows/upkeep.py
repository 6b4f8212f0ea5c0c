"""Which upkeep of derived columns has been done on this database."""

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from webapp.notebook.store.rows.base import Base


class Upkeep(Base):
    """One kind of derived columns, and the version of the rules by which they were last computed.

    While rows are brought to a later version, that is `next_version`, and `done_to` the number of
    the last row that has it, so that work that was stopped goes on; a still later version begins
    with the first row again.
    """

    __tablename__ = "upkeep"

    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    version: Mapped[int]
    next_version: Mapped[int | None]
    done_to: Mapped[int] = mapped_column(default=0)
