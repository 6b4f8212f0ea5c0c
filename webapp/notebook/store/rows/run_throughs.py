"""Run-throughs: a passage of a piece played at tempo, its recording, and each of its notes."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.instruments import Instrument
from webapp.notebook.store.rows.pieces import Piece


class KeptRun(Base):
    """A passage played through. `first_bar` and `last_bar` are indices, the labels as printed then.

    `tempo_share` is the tempo played as a share of the asked, `uneven_s` the median of how far the
    steps from note to note lie from even. `shift_cents` is by how much all notes lay higher than
    held, 0 where too few have a figure; it is taken off before a note is said to lie otherwise.
    """

    __tablename__ = "run_through"
    __table_args__ = (Index("ix_run_through_piece_played", "piece_id", "played_at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"))
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), index=True
    )
    clip_name: Mapped[str] = mapped_column(String(80), unique=True)
    clip_format: Mapped[str] = mapped_column(String(10))
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    byte_count: Mapped[int]
    first_bar: Mapped[int]
    last_bar: Mapped[int]
    first_label: Mapped[str] = mapped_column(String(40))
    last_label: Mapped[str] = mapped_column(String(40))
    quarters_per_minute: Mapped[float]
    tuning_a_hz: Mapped[float]
    duration_s: Mapped[float]
    tempo_share: Mapped[float]
    uneven_s: Mapped[float | None]
    shift_cents: Mapped[float]
    extra_count: Mapped[int]
    played_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    piece: Mapped[Piece] = relationship(lazy="raise")
    instrument: Mapped[Instrument] = relationship(lazy="raise")
    notes: Mapped[list["RunNote"]] = relationship(
        back_populates="run",
        lazy="raise",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="RunNote.position",
    )


class RunNote(Base):
    """A note of the passage: as written for the instrument, held, and as it sounded in context.

    `held_cents`, `context_cents` and `wrong_cents` count from the written note: where the fingering
    chosen for that place sounds held, where it sounded here, and where a wrong note sounded instead
    of it. `times` is how often it was played. `late_s` is by how much the next note came late.
    """

    __tablename__ = "run_through_note"
    __table_args__ = (Index("ix_run_through_note_written", "written_exact"),)

    run_id: Mapped[int] = mapped_column(
        ForeignKey("run_through.id", ondelete="CASCADE"), primary_key=True
    )
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    bar_label: Mapped[str] = mapped_column(String(40))
    written: Mapped[str] = mapped_column(String(80))
    written_exact: Mapped[str] = mapped_column(String(40))
    is_trill: Mapped[bool]
    fingering_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="SET NULL"), index=True
    )
    held_cents: Mapped[float | None]
    held_uncertainty_cents: Mapped[float | None]
    context_cents: Mapped[float | None]
    context_uncertainty_cents: Mapped[float | None]
    wrong_cents: Mapped[float | None]
    times: Mapped[int]
    right_times: Mapped[int]
    late_s: Mapped[float | None]

    run: Mapped[KeptRun] = relationship(back_populates="notes", lazy="raise")

    @property
    def pitch(self) -> WrittenPitch:
        """The written pitch."""
        return WrittenPitch.from_canonical(self.written)
