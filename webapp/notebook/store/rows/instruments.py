"""Instruments with their set-up."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.keywork import Layout, load_layout, right_thumb_choices
from analysis.pitch import (
    KINDS,
    QUARTER_TONES,
    InstrumentKind,
    SoundingPitch,
    Transposition,
    Tuning,
    UnknownInstrumentKind,
    WrittenPitch,
)
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.layouts import OwnLayout, customise_as_kept


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
    # a value of `analysis.keywork.RightThumb`; none: as its layout says
    right_thumb: Mapped[str | None] = mapped_column(String(20))
    # the highest written note the player wants to see; none: as far as is known
    highest_text: Mapped[str | None] = mapped_column(String(40))
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

    # The one that loads by itself, since nothing of an instrument can be read without its keys:
    # one query for all instruments of a page, and none where all layouts are shipped ones.
    own_layout: Mapped[OwnLayout | None] = relationship(lazy="selectin")

    __mapper_args__ = {  # noqa: RUF012 - declared by SQLAlchemy
        "version_id_col": version,
        "version_id_generator": False,
    }

    @property
    def kind(self) -> InstrumentKind:
        """What kind of clarinet it is.

        Raises:
            UnknownInstrumentKind: a damaged row, or one that a later version wrote.
        """
        try:
            return KINDS[self.kind_id]
        except KeyError:
            raise UnknownInstrumentKind(
                f"The instrument “{self.name}” is of a kind that is not known here "
                f"(“{self.kind_id[:40]}”). Restore a backup, or open the notebook with the version "
                "that wrote it; `quartervent check` names every such row."
            ) from None

    def nearest_written(self, sounding: SoundingPitch) -> WrittenPitch:
        """Return the written quarter tone that is nearest to a sounding pitch."""
        return WrittenPitch.from_cents(
            QUARTER_TONES.nearest(sounding.cents - self.transposition_cents)
        )

    @property
    def layout(self) -> Layout:
        """The key layout this instrument has: keys and their names, and how it is held."""
        return self.customised(self.plain_layout)

    @property
    def lowest(self) -> WrittenPitch:
        """The lowest note of its keywork, in the notation of its parts."""
        return self.kind.from_treble_notation(self.layout.lowest)

    @property
    def top(self) -> WrittenPitch:
        """The highest note that is asked after: the player's word, else the ordinary top."""
        if self.highest_text is None:
            return self.kind.ordinary_top
        return WrittenPitch.from_canonical(self.highest_text)

    @property
    def plain_layout(self) -> Layout:
        """The key layout as its file has it."""
        return self.own_layout.read() if self.own_layout else load_layout(self.layout_id)

    def customised(self, layout: Layout) -> Layout:
        """Make a layout that of this instrument: without the keys it lacks, named and held so."""
        kept = (self.without_keys, self.key_names, self.right_thumb)
        return layout if kept == (None, None, None) else customise_as_kept(layout, *kept)

    @property
    def has_thumb_choice(self) -> bool:
        """Whether it makes a difference to this keywork what the right thumb does."""
        return bool(right_thumb_choices(self.plain_layout))

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
