"""Takes and what was measured in them."""

from datetime import datetime
from functools import lru_cache

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.pitch import SoundingPitch, Tuning
from analysis.recording import TakeMeasurement, TakeStanding, read_measurement
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime, unique_where
from webapp.notebook.store.rows.fingerings import Fingering
from webapp.notebook.store.rows.instruments import Instrument
from webapp.notebook.store.rows.practice import Practice


class Take(Base):
    """One recording of one held note. The clip is never rewritten; its hash proves it.

    A take without a fingering is an unsorted one: it belongs to its instrument alone, with the note
    that was meant, if one was.
    """

    __tablename__ = "take"
    __table_args__ = (
        CheckConstraint("byte_count > 0", name="clip_not_empty"),
        Index("ix_take_unsorted", "instrument_id", "fingering_id", "recorded_at"),
        Index("ix_take_recorded", "recorded_at"),
        # The same clip is one take of a fingering, and one unsorted take; the bin does not count.
        unique_where(
            "uq_take_clip_of_fingering",
            "fingering_id",
            "sha256",
            condition="deleted_at IS NULL",
        ),
        unique_where(
            "uq_take_clip_unsorted",
            "instrument_id",
            "sha256",
            condition="fingering_id IS NULL AND deleted_at IS NULL",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instrument.id", ondelete="CASCADE"))
    fingering_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="CASCADE"), index=True
    )
    meant_text: Mapped[str | None] = mapped_column(String(40))
    clip_name: Mapped[str] = mapped_column(String(80), unique=True)
    clip_format: Mapped[str] = mapped_column(String(10))
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    byte_count: Mapped[int]
    original_name: Mapped[str] = mapped_column(String(255), default="")
    recorded_at: Mapped[datetime] = mapped_column(UtcDateTime)
    dynamic: Mapped[str | None] = mapped_column(String(4))
    air_temperature_c: Mapped[float | None]
    tuning_a_hz: Mapped[float]
    practice_id: Mapped[int | None] = mapped_column(
        ForeignKey("practice.id", ondelete="SET NULL"), index=True
    )
    # played with an eye on the trace, which the lip follows
    is_watched: Mapped[bool] = mapped_column(default=False, server_default=false())
    # the player said that it counts
    is_confirmed: Mapped[bool] = mapped_column(default=False, server_default=false())
    # derived from all takes of its fingering: whether it counts, and if not, why
    standing: Mapped[str] = mapped_column(
        String(20), default=TakeStanding.COUNTS.value, server_default=TakeStanding.COUNTS.value
    )
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)

    practice: Mapped[Practice | None] = relationship(lazy="raise")
    instrument: Mapped[Instrument] = relationship(lazy="raise")
    fingering: Mapped[Fingering | None] = relationship(lazy="raise")
    measurements: Mapped[list["Measurement"]] = relationship(
        back_populates="take", lazy="raise", passive_deletes=True, order_by="Measurement.id"
    )

    @property
    def measurement(self) -> "Measurement":
        """The newest measurement; every take has one."""
        return self.measurements[-1]

    @property
    def owner(self) -> Fingering:
        """Its fingering, which must be loaded; asked of sorted takes only."""
        assert self.fingering is not None, "an unsorted take has no fingering"
        return self.fingering

    @property
    def counts(self) -> bool:
        """Whether it stands behind the figure of its fingering."""
        return self.standing == TakeStanding.COUNTS

    @property
    def sounding(self) -> SoundingPitch | None:
        """What it sounded at the tuning A of its day, or None where nothing could be measured."""
        f0_hz = self.measurement.f0_hz
        if f0_hz is None:
            return None
        return SoundingPitch.from_hz(f0_hz, Tuning(self.tuning_a_hz))


class Measurement(Base):
    """What one version of the analysis found in a take; earlier versions are kept."""

    __tablename__ = "measurement"
    __table_args__ = (
        Index("uq_measurement_take_version", "take_id", "method_version", unique=True),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    take_id: Mapped[int] = mapped_column(ForeignKey("take.id", ondelete="CASCADE"))
    method_version: Mapped[str] = mapped_column(String(40))
    verdict: Mapped[str] = mapped_column(String(40))
    f0_hz: Mapped[float | None]
    f0_uncertainty_cents: Mapped[float | None]
    spread_cents: Mapped[float | None]
    drift_cents_per_s: Mapped[float | None]
    centroid_hz: Mapped[float | None]
    brightness_partials: Mapped[float | None]
    duration_s: Mapped[float]
    # whether sound was lost, or clipped beyond use
    is_spoilt: Mapped[bool] = mapped_column(default=False, server_default=false())
    details: Mapped[str] = mapped_column(Text)
    measured_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    take: Mapped[Take] = relationship(back_populates="measurements", lazy="raise")

    def read(self) -> TakeMeasurement:
        """Read the whole measurement, trace and spectrum included; its details must be loaded."""
        return _read_details(self.details)


@lru_cache(maxsize=64)
def _read_details(details: str) -> TakeMeasurement:
    """Read each text once: a page asks for the same measurement several times."""
    return read_measurement(details)
