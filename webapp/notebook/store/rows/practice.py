"""Practice: a day at the stand with one instrument."""

from datetime import datetime, timedelta

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.instruments import Instrument

LONGEST_PRACTICE = timedelta(hours=12)
"""A practice that nobody ended takes nothing in after this: tomorrow has a note of its own."""


class Practice(Base):
    """A practice: one instrument and its set-up, one tuning A, one temperature, tuning notes."""

    __tablename__ = "practice"
    __table_args__ = (
        CheckConstraint("tuning_a_hz >= 390 AND tuning_a_hz <= 470", name="tuning_in_range"),
        Index("ix_practice_instrument_started", "instrument_id", "started_at"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instrument.id", ondelete="CASCADE"))
    started_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    ended_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    tuning_a_hz: Mapped[float]
    air_temperature_c: Mapped[float | None]
    # of this day; None: as the instrument has it
    reed: Mapped[str | None] = mapped_column(String(200))
    barrel_pull_mm: Mapped[float | None]
    notes: Mapped[str] = mapped_column(Text, default="")

    instrument: Mapped[Instrument] = relationship(lazy="raise")

    def is_open_at(self, moment: datetime) -> bool:
        """Whether a take made at a moment belongs to this practice."""
        return self.ended_at is None and moment - self.started_at <= LONGEST_PRACTICE
