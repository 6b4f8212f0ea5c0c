"""Two-note loops: a slur back and forth between two fingerings, and what was measured in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Self

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime, unique_where
from webapp.notebook.store.rows.instruments import Instrument


@dataclass(frozen=True, slots=True)
class LoopPair:
    """Two fingerings, each with the note it plays, the lower note first.

    By their keys and not by entries: the hands do the same whether it is logged or not, and for
    whichever note it was logged.
    """

    lower_text: str
    lower_keys_text: str
    upper_text: str
    upper_keys_text: str

    @classmethod
    def of(cls, one: tuple[WrittenPitch, str], other: tuple[WrittenPitch, str]) -> Self:
        """Make the pair of two notes, each with its keys in text form, in either order."""
        (low, low_keys), (high, high_keys) = sorted((one, other), key=lambda each: each[0].cents)
        return cls(low.canonical, low_keys, high.canonical, high_keys)

    @property
    def lower(self) -> WrittenPitch:
        """The lower note."""
        return WrittenPitch.from_canonical(self.lower_text)

    @property
    def upper(self) -> WrittenPitch:
        """The upper note."""
        return WrittenPitch.from_canonical(self.upper_text)


class KeptLoop(Base):
    """One recording of a loop. The figures are those of `analysis.performance.MeasuredLoop`.

    `up_s` and `down_s` are None where the times of the change could not be told.
    """

    __tablename__ = "two_note_loop"
    __table_args__ = (
        CheckConstraint("byte_count > 0", name="clip_not_empty"),
        Index("ix_two_note_loop_instrument_recorded", "instrument_id", "recorded_at"),
        unique_where(
            "uq_two_note_loop_clip",
            "instrument_id",
            "sha256",
            condition="deleted_at IS NULL",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instrument.id", ondelete="CASCADE"))
    practice_id: Mapped[int | None] = mapped_column(
        ForeignKey("practice.id", ondelete="SET NULL"), index=True
    )
    lower_text: Mapped[str] = mapped_column(String(40))
    lower_keys_text: Mapped[str] = mapped_column(Text)
    upper_text: Mapped[str] = mapped_column(String(40))
    upper_keys_text: Mapped[str] = mapped_column(Text)
    clip_name: Mapped[str] = mapped_column(String(80), unique=True)
    clip_format: Mapped[str] = mapped_column(String(10))
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    byte_count: Mapped[int]
    recorded_at: Mapped[datetime] = mapped_column(UtcDateTime)
    tuning_a_hz: Mapped[float]
    duration_s: Mapped[float]
    method_version: Mapped[str] = mapped_column(String(40))
    change_count: Mapped[int]
    rate_hz: Mapped[float]
    unevenness: Mapped[float]
    up_s: Mapped[float | None]
    up_uncertainty_s: Mapped[float | None]
    down_s: Mapped[float | None]
    down_uncertainty_s: Mapped[float | None]
    break_count: Mapped[int]
    silent_count: Mapped[int]
    other_count: Mapped[int]
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)

    instrument: Mapped[Instrument] = relationship(lazy="raise")

    @property
    def pair(self) -> LoopPair:
        """The two fingerings."""
        return LoopPair(
            self.lower_text, self.lower_keys_text, self.upper_text, self.upper_keys_text
        )
