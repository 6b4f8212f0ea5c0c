"""The notebook's rows.

Conventions: cents are written or sounding cents with A4 = 6900; Hz appear only where sound entered.
Times are UTC. Key states and written targets are kept as their canonical text (`analysis.keywork`,
`analysis.pitch`), which is the truth; columns marked *derived* are computed from it by the services
and exist to be searched. Relationships never load by themselves (`lazy="raise"`): a service asks
for what a page needs, so that the number of queries cannot grow with the rows. `version` counts the
player's own edits (new evidence is none), so that an edit form can tell whether it is stale.
"""

from datetime import datetime
from functools import lru_cache

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    Index,
    String,
    Text,
    false,
)
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.finder import Strategy
from analysis.keywork import Fingering as KeyStates
from analysis.keywork import Layout, load_layout, parse_fingering
from analysis.pitch import KINDS, InstrumentKind, SoundingPitch, Transposition, Tuning, WrittenPitch
from analysis.recording import TakeMeasurement
from webapp.notebook.store.rows.base import Base, UtcDateTime, now_utc
from webapp.notebook.store.rows.layouts import OwnLayout, customise_as_kept
from webapp.notebook.store.rows.practice import (
    LongRecording,
    Practice,
    PracticeTarget,
    RecordingState,
    Segment,
    TargetState,
    TuningNote,
)
from webapp.notebook.store.rows.tries import DismissReason, Suggestion, TryState

__all__ = [
    "Base",
    "DismissReason",
    "Fingering",
    "FingeringTag",
    "Instrument",
    "LongRecording",
    "Measurement",
    "OwnLayout",
    "Practice",
    "PracticeTarget",
    "Preferences",
    "RecordingState",
    "Segment",
    "Suggestion",
    "Take",
    "TargetState",
    "TryState",
    "TuningNote",
    "UtcDateTime",
    "now_utc",
]


class Preferences(Base):
    """How the player wants things written; one row, absent until something is changed."""

    __tablename__ = "preferences"
    __table_args__ = (CheckConstraint("id = 1", name="single_row"),)

    id: Mapped[int] = mapped_column(primary_key=True, default=1)
    note_names: Mapped[str] = mapped_column(String(20), default="english")
    accidental_style: Mapped[str] = mapped_column(String(20), default="stein-zimmermann")
    tolerance_cents: Mapped[float] = mapped_column(default=10.0)
    theme: Mapped[str] = mapped_column(String(10), default="system")


class Instrument(Base):
    """One clarinet with its set-up, as it lies on the table."""

    __tablename__ = "instrument"
    __table_args__ = (
        CheckConstraint("tuning_a_hz >= 390 AND tuning_a_hz <= 470", name="tuning_in_range"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    kind_id: Mapped[str] = mapped_column(String(60))
    layout_id: Mapped[str] = mapped_column(String(60))
    layout_version: Mapped[int]
    own_layout_id: Mapped[str | None] = mapped_column(ForeignKey("own_layout.id"), index=True)
    # JSON: the ids of the optional keys it lacks (none: as its layout says), and names by key id
    without_keys: Mapped[str | None] = mapped_column(Text)
    key_names: Mapped[str | None] = mapped_column(Text)
    transposition_cents: Mapped[int]
    tuning_a_hz: Mapped[float] = mapped_column(default=440.0)
    mouthpiece: Mapped[str] = mapped_column(String(200), default="")
    reed: Mapped[str] = mapped_column(String(200), default="")
    barrel: Mapped[str] = mapped_column(String(200), default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    version: Mapped[int] = mapped_column(default=1)

    fingerings: Mapped[list["Fingering"]] = relationship(
        back_populates="instrument", lazy="raise", passive_deletes=True
    )
    # The one that loads by itself, since nothing of an instrument can be read without its keys:
    # one query for all instruments of a page, and none where all layouts are shipped ones.
    own_layout: Mapped[OwnLayout | None] = relationship(lazy="selectin")

    __mapper_args__ = {  # noqa: RUF012 - declared by SQLAlchemy
        "version_id_col": version,
        "version_id_generator": False,
    }

    @property
    def kind(self) -> InstrumentKind:
        """What kind of clarinet it is."""
        return KINDS[self.kind_id]

    @property
    def layout(self) -> Layout:
        """The key layout this instrument has, without the keys it lacks, under its own names."""
        return self.customised(self.plain_layout)

    @property
    def plain_layout(self) -> Layout:
        """The key layout as its file has it."""
        return self.own_layout.read() if self.own_layout else load_layout(self.layout_id)

    def customised(self, layout: Layout) -> Layout:
        """Take the keys that this instrument lacks from a layout, and give it its names."""
        if self.without_keys is None and self.key_names is None:
            return layout
        return customise_as_kept(layout, self.without_keys, self.key_names)

    @property
    def tuning(self) -> Tuning:
        """The tuning A that takes are proved against."""
        return Tuning(self.tuning_a_hz)

    @property
    def transposition(self) -> Transposition:
        """Written to sounding pitch."""
        return Transposition(self.transposition_cents)

    @property
    def setup_lines(self) -> tuple[str, ...]:
        """Mouthpiece, reed and barrel as far as they are noted, one line each."""
        parts = (("Mouthpiece", self.mouthpiece), ("Reed", self.reed), ("Barrel", self.barrel))
        return tuple(f"{name}: {text}" for name, text in parts if text)


@lru_cache(maxsize=4096)
def _read_keys(text: str, layout: Layout) -> KeyStates:
    return parse_fingering(text, layout)


class Fingering(Base):
    """A fingering for a written target on one instrument."""

    __tablename__ = "fingering"
    __table_args__ = (
        CheckConstraint("resistance BETWEEN 1 AND 5", name="resistance_in_range"),
        Index("ix_fingering_sounding", "sounding_cents", "deleted_at"),
        Index("ix_fingering_instrument_sounding", "instrument_id", "sounding_cents", "deleted_at"),
        # Covers the counts of the start page, which then never touch the rows themselves.
        Index(
            "ix_fingering_overview",
            "instrument_id",
            "deleted_at",
            "does_not_speak",
            "written_cents",
            "take_count",
        ),
        Index("ix_fingering_same_holes", "instrument_id", "hole_signature"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), index=True
    )
    keys_text: Mapped[str] = mapped_column(Text)
    target_text: Mapped[str] = mapped_column(String(40))
    target_typed: Mapped[str] = mapped_column(String(120), default="")
    strategy: Mapped[str] = mapped_column(String(30))
    base_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="SET NULL"), index=True
    )
    base_keys_text: Mapped[str | None] = mapped_column(Text)
    base_written_text: Mapped[str | None] = mapped_column(String(40))
    resistance: Mapped[int | None]
    resistance_notes: Mapped[str] = mapped_column(Text, default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    does_not_speak: Mapped[bool] = mapped_column(default=False)
    # whether its takes and those of the same holes and target count for both
    shares_evidence: Mapped[bool] = mapped_column(default=False, server_default=false())

    # derived from the texts above
    has_half_hole: Mapped[bool]
    hole_signature: Mapped[str | None] = mapped_column(String(500))
    written_cents: Mapped[float]
    target_cents: Mapped[float]
    # derived from the takes: the pooled evidence, and where the fingering is known or meant to
    # sound
    take_count: Mapped[int] = mapped_column(default=0)
    offset_cents: Mapped[float | None]
    offset_uncertainty_cents: Mapped[float | None]
    sounding_cents: Mapped[float]

    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    version: Mapped[int] = mapped_column(default=1)

    instrument: Mapped[Instrument] = relationship(back_populates="fingerings", lazy="raise")
    base: Mapped["Fingering | None"] = relationship(
        remote_side=[id], lazy="raise", back_populates="derived"
    )
    derived: Mapped[list["Fingering"]] = relationship(
        back_populates="base", lazy="raise", passive_deletes=True
    )
    takes: Mapped[list["Take"]] = relationship(
        back_populates="fingering", lazy="raise", passive_deletes=True, order_by="Take.recorded_at"
    )
    tag_rows: Mapped[list["FingeringTag"]] = relationship(
        lazy="raise", cascade="all, delete-orphan", order_by="FingeringTag.tag"
    )

    __mapper_args__ = {  # noqa: RUF012 - declared by SQLAlchemy
        "version_id_col": version,
        "version_id_generator": False,
    }

    @property
    def written(self) -> WrittenPitch:
        """The written target."""
        return WrittenPitch.from_canonical(self.target_text)

    @property
    def strategy_words(self) -> str:
        """How it was derived, in words."""
        return Strategy(self.strategy).words

    @property
    def tags(self) -> tuple[str, ...]:
        """The player's own tags, in alphabetical order."""
        return tuple(row.tag for row in self.tag_rows)

    @property
    def is_proven(self) -> bool:
        """Whether at least one usable take stands behind it."""
        return self.take_count > 0

    def key_states(self) -> KeyStates:
        """Read the key states; the instrument must be loaded."""
        return _read_keys(self.keys_text, self.instrument.layout)

    def base_key_states(self) -> KeyStates | None:
        """Read the key states of the fingering it came from, if any."""
        if self.base_keys_text is None:
            return None
        return _read_keys(self.base_keys_text, self.instrument.layout)

    @property
    def base_written(self) -> WrittenPitch | None:
        """The written pitch of the fingering it came from, if any."""
        if self.base_written_text is None:
            return None
        return WrittenPitch.from_canonical(self.base_written_text)


class FingeringTag(Base):
    """One tag on one fingering."""

    __tablename__ = "fingering_tag"

    fingering_id: Mapped[int] = mapped_column(
        ForeignKey("fingering.id", ondelete="CASCADE"), primary_key=True
    )
    tag: Mapped[str] = mapped_column(String(60), primary_key=True, index=True)


class Take(Base):
    """One recording of one held note. The clip is never rewritten; its hash proves it."""

    __tablename__ = "take"
    __table_args__ = (CheckConstraint("byte_count > 0", name="clip_not_empty"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    fingering_id: Mapped[int] = mapped_column(
        ForeignKey("fingering.id", ondelete="CASCADE"), index=True
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
    practice_id: Mapped[int | None] = mapped_column(
        ForeignKey("practice.id", ondelete="SET NULL"), index=True
    )
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)

    practice: Mapped[Practice | None] = relationship(back_populates="takes", lazy="raise")
    fingering: Mapped[Fingering] = relationship(back_populates="takes", lazy="raise")
    measurements: Mapped[list["Measurement"]] = relationship(
        back_populates="take", lazy="raise", passive_deletes=True, order_by="Measurement.id"
    )

    @property
    def measurement(self) -> "Measurement":
        """The newest measurement; every take has one."""
        return self.measurements[-1]

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
    details: Mapped[str] = mapped_column(Text)
    measured_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    take: Mapped[Take] = relationship(back_populates="measurements", lazy="raise")

    def read(self) -> TakeMeasurement:
        """Read the whole measurement, trace and spectrum included."""
        return TakeMeasurement.from_json(self.details)
