"""Suggestions that the player took up: put on the try list, tried, kept or dismissed.

A row keeps what was predicted, with the method that predicted it, as it stood when the player took
it up: later evidence changes the model, never these figures, so that a measurement can be compared
with what was said before it.
"""

from datetime import datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, ColumnElement, ForeignKey, Index, String, Text, or_
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.finder import Strategy
from analysis.keywork import KeyStates, parse_fingering
from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.fingerings import Fingering
from webapp.notebook.store.rows.instruments import Instrument


class TryState(StrEnum):
    """What has become of a suggestion."""

    WAITING = "waiting"
    TRIED = "tried"
    KEPT = "kept"
    DISMISSED = "dismissed"


class DismissReason(StrEnum):
    """Why a suggestion is not wanted; what follows from each stands in `services.wishes`."""

    SILENT = "silent"
    AWKWARD = "awkward"
    PITCH = "pitch"
    COLOUR = "colour"
    OTHER = "other"

    @property
    def words(self) -> str:
        """The reason as a player would say it."""
        return _REASON_WORDS[self]


_REASON_WORDS = {
    DismissReason.SILENT: "does not speak",
    DismissReason.AWKWARD: "does not lie in my hands",
    DismissReason.PITCH: "too far off the note",
    DismissReason.COLOUR: "wrong colour",
    DismissReason.OTHER: "another reason",
}


class Suggestion(Base):
    """One suggestion for one written target on one instrument, with what was predicted for it."""

    __tablename__ = "suggestion"
    __table_args__ = (
        CheckConstraint(
            "state IN ('waiting', 'tried', 'kept', 'dismissed')", name="state_is_known"
        ),
        CheckConstraint("predicted_sigma_cents > 0", name="sigma_positive"),
        Index("ix_suggestion_instrument_state", "instrument_id", "state"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instrument.id", ondelete="CASCADE"))
    # with the sign it was spelled with, where that is not the usual one (`asking_text`)
    target_text: Mapped[str] = mapped_column(String(40))
    keys_text: Mapped[str] = mapped_column(Text)
    # what it starts from: a reference of `services.bases`, and as it was then
    base_reference: Mapped[str] = mapped_column(String(80), default="")
    base_keys_text: Mapped[str | None] = mapped_column(Text)
    base_written_text: Mapped[str | None] = mapped_column(String(40))
    strategy: Mapped[str] = mapped_column(String(30))
    predicted_offset_cents: Mapped[float]
    predicted_sigma_cents: Mapped[float]
    method_version: Mapped[str] = mapped_column(String(40))
    state: Mapped[str] = mapped_column(String(12), default=TryState.WAITING.value)
    reason: Mapped[str | None] = mapped_column(String(20))
    reason_notes: Mapped[str] = mapped_column(Text, default="")
    # what it was logged as
    fingering_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="SET NULL"), index=True
    )
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)

    instrument: Mapped[Instrument] = relationship(lazy="raise")
    fingering: Mapped[Fingering | None] = relationship(lazy="raise")

    @classmethod
    def is_for(cls, written: WrittenPitch) -> ColumnElement[bool]:
        """Say in a query that a suggestion is for a note, however that was spelled."""
        spelled = cls.target_text.startswith(f"{written.canonical}~", autoescape=True)
        return or_(cls.target_text == written.canonical, spelled)

    @property
    def written(self) -> WrittenPitch:
        """The written target, with the sign it was spelled with."""
        return WrittenPitch.from_canonical(self.target_text)

    @property
    def base_written(self) -> WrittenPitch | None:
        """The written pitch of what it starts from, if anything."""
        text = self.base_written_text
        return None if text is None else WrittenPitch.from_canonical(text)

    @property
    def strategy_words(self) -> str:
        """How it is derived, in words."""
        return Strategy(self.strategy).words

    @property
    def reason_words(self) -> str:
        """Why it was dismissed, in words; empty where no reason was given."""
        return "" if self.reason is None else DismissReason(self.reason).words

    def key_states(self) -> KeyStates:
        """Read the key states; the instrument must be loaded."""
        return parse_fingering(self.keys_text, self.instrument.layout)

    def base_key_states(self) -> KeyStates | None:
        """Read the key states of what it starts from; the instrument must be loaded."""
        if self.base_keys_text is None:
            return None
        return parse_fingering(self.base_keys_text, self.instrument.layout)
