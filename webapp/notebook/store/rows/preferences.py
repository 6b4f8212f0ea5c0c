"""Row of preferences: how the player wants things written."""

from sqlalchemy import CheckConstraint, String, text
from sqlalchemy.orm import Mapped, mapped_column

from webapp.notebook.store.rows.base import Base


class Preferences(Base):
    """How the player wants things written; one row, absent until something is changed."""

    __tablename__ = "preferences"
    __table_args__ = (CheckConstraint("id = 1", name="single_row"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    note_names: Mapped[str] = mapped_column(String(20), default="english")
    # the text form of a system of signs (`analysis.pitch.sign_systems`)
    accidental_style: Mapped[str] = mapped_column(String(120), default="stein-zimmermann")
    tolerance_cents: Mapped[float] = mapped_column(default=10.0)
    # how far the lip goes, down and up, up to the clarion and in the altissimo; none: as is usual
    lip_down_cents: Mapped[float | None]
    lip_up_cents: Mapped[float | None]
    lip_down_high_cents: Mapped[float | None]
    lip_up_high_cents: Mapped[float | None]
    theme: Mapped[str] = mapped_column(String(10), default="system")
    # counts the player's changes, so that a form can tell whether it is stale
    version: Mapped[int] = mapped_column(default=1, server_default=text("1"))
