"""The tuning notes of a practice, and its list of what to play."""

from datetime import datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.fingerings import Fingering
from webapp.notebook.store.rows.loops import LoopPair
from webapp.notebook.store.rows.practice import Practice
from webapp.notebook.store.rows.suggestions import Suggestion
from webapp.notebook.store.rows.takes import Take


class TuningNote(Base):
    """A tuning note of a practice: the state of its day is inferred from those that count.

    Either a take of the notebook, whose own measurement counts, or a recording of its own. Of the
    same note played again within minutes the newest row counts; choosing another one and measuring
    anew add a row, so that earlier numbers are kept.
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
    # of a recording of its own that was kept later than it was played
    recorded_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    # the player said that it does not count
    is_left_out: Mapped[bool] = mapped_column(default=False, server_default=false())
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    practice: Mapped[Practice] = relationship(lazy="raise")
    take: Mapped[Take | None] = relationship(lazy="raise")

    @property
    def played_at(self) -> datetime:
        """When it was played; its take must be loaded."""
        if self.take is not None:
            return self.take.recorded_at
        return self.recorded_at or self.created_at

    @property
    def written(self) -> WrittenPitch:
        """The note that was meant."""
        return WrittenPitch.from_canonical(self.written_text)


class TargetState(StrEnum):
    """What has become of a target on a practice's list."""

    OPEN = "open"
    DONE = "done"
    SKIPPED = "skipped"


class PracticeTarget(Base):
    """One target on the list of a practice, perhaps with the fingering or the try it is for.

    With `second_text` it is a loop: a slur back and forth to that note, both with their keys.
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
    # of a loop: the keys of its note, the other note, and its keys
    keys_text: Mapped[str | None] = mapped_column(Text)
    second_text: Mapped[str | None] = mapped_column(String(40))
    second_keys_text: Mapped[str | None] = mapped_column(Text)
    state: Mapped[str] = mapped_column(String(10), default=TargetState.OPEN.value)
    note: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)

    practice: Mapped[Practice] = relationship(lazy="raise")
    fingering: Mapped[Fingering | None] = relationship(lazy="raise")
    suggestion: Mapped[Suggestion | None] = relationship(lazy="raise")

    @property
    def written(self) -> WrittenPitch:
        """The written target."""
        return WrittenPitch.from_canonical(self.target_text)

    @property
    def loop(self) -> LoopPair | None:
        """The two fingerings of a loop; None where it is one note."""
        if self.second_text is None or self.keys_text is None or self.second_keys_text is None:
            return None
        second = WrittenPitch.from_canonical(self.second_text)
        return LoopPair.of((self.written, self.keys_text), (second, self.second_keys_text))
