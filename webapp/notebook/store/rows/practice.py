"""Rows about practising: a session with its tuning note and its list, and a long recording.

Conventions as in `webapp.notebook.store.rows.core`, which has the rows they belong to.
"""

from datetime import datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.pitch import WrittenPitch
from webapp.notebook.store.rows.base import Base, UtcDateTime, now_utc

if TYPE_CHECKING:
    from webapp.notebook.store.rows.core import Fingering, Instrument, Take
    from webapp.notebook.store.rows.tries import Suggestion

LONGEST_PRACTICE = timedelta(hours=12)
"""A session that nobody ended takes nothing in after this: tomorrow has a note of its own."""


class Practice(Base):
    """A practice session: one instrument, one tuning A, one temperature, one tuning note."""

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
    notes: Mapped[str] = mapped_column(Text, default="")

    instrument: Mapped["Instrument"] = relationship(lazy="raise")
    takes: Mapped[list["Take"]] = relationship(
        back_populates="practice", lazy="raise", passive_deletes=True, order_by="Take.recorded_at"
    )
    tuning_notes: Mapped[list["TuningNote"]] = relationship(
        back_populates="practice", lazy="raise", passive_deletes=True, order_by="TuningNote.id"
    )
    targets: Mapped[list["PracticeTarget"]] = relationship(
        back_populates="practice",
        lazy="raise",
        passive_deletes=True,
        order_by="PracticeTarget.position, PracticeTarget.id",
    )

    def is_open_at(self, moment: datetime) -> bool:
        """Whether a take made at a moment belongs to this session."""
        return self.ended_at is None and moment - self.started_at <= LONGEST_PRACTICE


class TuningNote(Base):
    """What a session's offsets are also compared with; the newest one of a session counts.

    Either a take of the notebook, whose own measurement counts, or a recording of its own. Choosing
    another one and measuring anew add a row, so that earlier numbers are kept.
    """

    __tablename__ = "tuning_note"
    __table_args__ = (
        CheckConstraint("(take_id IS NULL) <> (clip_name IS NULL)", name="one_source"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    practice_id: Mapped[int] = mapped_column(
        ForeignKey("practice.id", ondelete="CASCADE"), index=True
    )
    written_text: Mapped[str] = mapped_column(String(40))
    take_id: Mapped[int | None] = mapped_column(
        ForeignKey("take.id", ondelete="CASCADE"), index=True
    )
    clip_name: Mapped[str | None] = mapped_column(String(80))
    clip_format: Mapped[str | None] = mapped_column(String(10))
    sha256: Mapped[str | None] = mapped_column(String(64))
    original_name: Mapped[str] = mapped_column(String(255), default="")
    # of a recording of its own
    method_version: Mapped[str | None] = mapped_column(String(40))
    verdict: Mapped[str | None] = mapped_column(String(40))
    f0_hz: Mapped[float | None]
    f0_uncertainty_cents: Mapped[float | None]
    details: Mapped[str | None] = mapped_column(Text)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    practice: Mapped[Practice] = relationship(back_populates="tuning_notes", lazy="raise")
    take: Mapped["Take | None"] = relationship(lazy="raise")

    @property
    def written(self) -> WrittenPitch:
        """The note that was meant."""
        return WrittenPitch.from_canonical(self.written_text)


class TargetState(StrEnum):
    """What has become of a target on a session's list."""

    OPEN = "open"
    DONE = "done"
    SKIPPED = "skipped"


class PracticeTarget(Base):
    """One target on the list of a session, perhaps with the fingering or the try it is for.

    Places in the list may be shared for a moment and have gaps; the number decides then.
    """

    __tablename__ = "practice_target"
    __table_args__ = (
        CheckConstraint("state IN ('open', 'done', 'skipped')", name="state_is_known"),
        Index("ix_practice_target_practice_position", "practice_id", "position"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    practice_id: Mapped[int] = mapped_column(ForeignKey("practice.id", ondelete="CASCADE"))
    position: Mapped[int]
    target_text: Mapped[str] = mapped_column(String(40))
    fingering_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="SET NULL"), index=True
    )
    suggestion_id: Mapped[int | None] = mapped_column(
        ForeignKey("suggestion.id", ondelete="SET NULL"), index=True
    )
    state: Mapped[str] = mapped_column(String(10), default=TargetState.OPEN.value)
    note: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)

    practice: Mapped[Practice] = relationship(back_populates="targets", lazy="raise")
    fingering: Mapped["Fingering | None"] = relationship(lazy="raise")
    suggestion: Mapped["Suggestion | None"] = relationship(lazy="raise")

    @property
    def written(self) -> WrittenPitch:
        """The written target."""
        return WrittenPitch.from_canonical(self.target_text)


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

    instrument: Mapped["Instrument"] = relationship(lazy="raise")
    segments: Mapped[list["Segment"]] = relationship(
        back_populates="recording", lazy="raise", passive_deletes=True, order_by="Segment.position"
    )

    @property
    def is_at_work(self) -> bool:
        """Whether something is still to be done before the player can go on."""
        return self.state in (RecordingState.SPLITTING, RecordingState.KEEPING)


class Segment(Base):
    """One note found in a long recording, and what the player made of it."""

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
    fingering_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="SET NULL"), index=True
    )
    take_id: Mapped[int | None] = mapped_column(
        ForeignKey("take.id", ondelete="SET NULL"), index=True
    )
    is_discarded: Mapped[bool] = mapped_column(default=False)
    problem: Mapped[str] = mapped_column(Text, default="")

    recording: Mapped[LongRecording] = relationship(back_populates="segments", lazy="raise")
