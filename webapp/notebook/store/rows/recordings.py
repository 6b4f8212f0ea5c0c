"""Long recordings and the notes found in them."""

from datetime import datetime
from enum import StrEnum

from sqlalchemy import ForeignKey, Index, String, Text, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime, unique_where
from webapp.notebook.store.rows.instruments import Instrument


class RecordingState(StrEnum):
    """What is to be done next with a long recording."""

    SPLITTING = "splitting"
    KEEPING = "keeping"
    READY = "ready"
    FAILED = "failed"


class LongRecording(Base):
    """One recording of many notes. What is being done with it stands here, so a restart goes on."""

    __tablename__ = "long_recording"
    __table_args__ = (
        Index("ix_long_recording_instrument_recorded", "instrument_id", "recorded_at"),
        unique_where(
            "uq_long_recording_clip",
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
    clip_name: Mapped[str] = mapped_column(String(80), unique=True)
    clip_format: Mapped[str] = mapped_column(String(10))
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    byte_count: Mapped[int]
    original_name: Mapped[str] = mapped_column(String(255), default="")
    recorded_at: Mapped[datetime] = mapped_column(UtcDateTime)
    dynamic: Mapped[str | None] = mapped_column(String(4))
    air_temperature_c: Mapped[float | None]
    tuning_a_hz: Mapped[float]
    duration_s: Mapped[float | None]
    state: Mapped[str] = mapped_column(String(20), default=RecordingState.SPLITTING.value)
    done_share: Mapped[float] = mapped_column(default=0.0)
    problem: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)

    instrument: Mapped[Instrument] = relationship(lazy="raise")
    segments: Mapped[list["Segment"]] = relationship(
        back_populates="recording", lazy="raise", passive_deletes=True, order_by="Segment.position"
    )

    @property
    def is_at_work(self) -> bool:
        """Whether something is still to be done before the player can go on."""
        return self.state in (RecordingState.SPLITTING, RecordingState.KEEPING)


class Segment(Base):
    """One note found in a long recording, and what the player made of it.

    A trill or tremolo has `low_hz` and `high_hz`; `rate_hz` is of one of these, or of a flutter.
    `is_unsorted`: it is to be kept as a take of the instrument alone.
    """

    __tablename__ = "segment"

    id: Mapped[int] = mapped_column(primary_key=True)
    recording_id: Mapped[int] = mapped_column(
        ForeignKey("long_recording.id", ondelete="CASCADE"), index=True
    )
    position: Mapped[int]
    from_s: Mapped[float]
    to_s: Mapped[float]
    steady_from_s: Mapped[float]
    steady_to_s: Mapped[float]
    verdict: Mapped[str] = mapped_column(String(40))
    f0_hz: Mapped[float | None]
    f0_uncertainty_cents: Mapped[float | None]
    low_hz: Mapped[float | None]
    high_hz: Mapped[float | None]
    rate_hz: Mapped[float | None]
    fingering_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="SET NULL"), index=True
    )
    take_id: Mapped[int | None] = mapped_column(
        ForeignKey("take.id", ondelete="SET NULL"), index=True
    )
    is_discarded: Mapped[bool] = mapped_column(default=False)
    is_unsorted: Mapped[bool] = mapped_column(default=False, server_default=false())
    problem: Mapped[str] = mapped_column(Text, default="")

    recording: Mapped[LongRecording] = relationship(back_populates="segments", lazy="raise")
