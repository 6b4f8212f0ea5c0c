"""Passages of pieces: the bars that a player fingers as a whole, as last shown."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime


class ChosenPassage(Base):
    """A passage of a piece on one instrument: bars by their indices, tempo, what counts most.

    `shown` is JSON: the fingering of each note as the player saw it last.
    """

    __tablename__ = "passage"
    __table_args__ = (
        CheckConstraint("first_bar >= 0 AND last_bar >= first_bar", name="bars_in_order"),
        CheckConstraint("emphasis IN ('safest', 'most in tune')", name="emphasis_is_known"),
        Index("uq_passage_bars", "piece_id", "instrument_id", "first_bar", "last_bar", unique=True),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"))
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), index=True
    )
    first_bar: Mapped[int]
    last_bar: Mapped[int]
    quarters_per_minute: Mapped[float | None]
    emphasis: Mapped[str] = mapped_column(String(20), default="safest")
    shown: Mapped[str] = mapped_column(Text, default="[]")
    shown_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
