"""Fingerings, each for one written target on one instrument, and their tags."""

from dataclasses import replace
from datetime import datetime
from fractions import Fraction
from functools import lru_cache

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, false, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.finder import Strategy
from analysis.keywork import KeyStates, Layout, parse_fingering
from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.instruments import Instrument


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
    # in cents from the natural, where the player spelled it with a sign and a rest
    target_sign: Mapped[str | None] = mapped_column(String(20))
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
    # whether it speaks at once when tongued at pp, by the player's word; None is not tried
    speaks_softly: Mapped[bool | None]

    # derived from the texts above
    has_half_hole: Mapped[bool]
    hole_signature: Mapped[str | None] = mapped_column(String(500))
    ease: Mapped[float | None]
    written_cents: Mapped[float]
    target_cents: Mapped[float]
    # derived from the takes that count: the pooled evidence with the day's tuning taken out, the
    # median of their spreads, and where the fingering is known or meant to sound; also how many
    # gave no pitch, how many with one are set aside, and whether all that counts was watched
    take_count: Mapped[int] = mapped_column(default=0)
    failed_take_count: Mapped[int] = mapped_column(default=0, server_default=text("0"))
    set_aside_count: Mapped[int] = mapped_column(default=0, server_default=text("0"))
    is_watched: Mapped[bool] = mapped_column(default=False, server_default=false())
    spread_cents: Mapped[float | None]
    offset_cents: Mapped[float | None]
    offset_uncertainty_cents: Mapped[float | None]
    sounding_cents: Mapped[float]

    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    version: Mapped[int] = mapped_column(default=1)

    instrument: Mapped[Instrument] = relationship(lazy="raise")
    base: Mapped["Fingering | None"] = relationship(
        remote_side=[id], lazy="raise", back_populates="derived"
    )
    derived: Mapped[list["Fingering"]] = relationship(
        back_populates="base", lazy="raise", passive_deletes=True
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
        """The written target, with the sign it was spelled with."""
        spelled = None if self.target_sign is None else Fraction(self.target_sign)
        return replace(WrittenPitch.from_canonical(self.target_text), sign_cents=spelled)

    @property
    def strategy_words(self) -> str:
        """How it was derived, in words."""
        return Strategy(self.strategy).words

    @property
    def tags(self) -> tuple[str, ...]:
        """The player's own tags, in alphabetical order."""
        return tuple(row.tag for row in self.tag_rows)

    @property
    def is_measured(self) -> bool:
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
