"""The player's word on fingerings: mine, an alternate, or rejected; and a note's own tolerance.

A note is keyed by its exact written cents on one instrument, as a fraction in text, so that every
spelling of it is one note.
"""

from datetime import datetime
from enum import StrEnum
from fractions import Fraction

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime, unique_where


class Role(StrEnum):
    """How the player regards a fingering for a note."""

    MINE = "mine"
    ALTERNATE = "alternate"
    REJECTED = "rejected"


class Circumstance(StrEnum):
    """When a fingering is the player's own for a note."""

    ALWAYS = "always"
    SOFT = "soft"
    LOUD = "loud"
    FAST = "fast"
    TRILL = "trill"


class Choice(Base):
    """The player's word on one fingering for one note.

    One fingering is `mine` for each note and circumstance; an alternate or a rejected one has the
    circumstance `always`, and perhaps a reason.
    """

    __tablename__ = "choice"
    __table_args__ = (
        CheckConstraint("role IN ('mine', 'alternate', 'rejected')", name="role_is_known"),
        CheckConstraint(
            "circumstance IN ('always', 'soft', 'loud', 'fast', 'trill')",
            name="circumstance_is_known",
        ),
        unique_where(
            "uq_choice_mine",
            "instrument_id",
            "written_exact",
            "circumstance",
            condition="role = 'mine'",
        ),
        Index("uq_choice_word", "fingering_id", "written_exact", "circumstance", unique=True),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instrument.id", ondelete="CASCADE"))
    written_exact: Mapped[str] = mapped_column(String(40))
    fingering_id: Mapped[int] = mapped_column(ForeignKey("fingering.id", ondelete="CASCADE"))
    role: Mapped[str] = mapped_column(String(10))
    circumstance: Mapped[str] = mapped_column(String(10), default=Circumstance.ALWAYS.value)
    reason: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)


class NoteTolerance(Base):
    """How far a note may lie off on one instrument, where that is not as everywhere."""

    __tablename__ = "note_tolerance"
    __table_args__ = (CheckConstraint("tolerance_cents > 0", name="tolerance_positive"),)

    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), primary_key=True
    )
    written_exact: Mapped[str] = mapped_column(String(40), primary_key=True)
    tolerance_cents: Mapped[float]


def exact_key(written_cents: Fraction) -> str:
    """Return what keys a note: its exact written cents."""
    return str(written_cents)
