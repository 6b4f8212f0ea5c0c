"""Rows of what came from other players: never mixed with the fingerings of the player.

A sender is another notebook; what it sent hangs below it. Each row keeps its part of the archive as
canonical JSON (`details`), from which the same archive can be written again; the other columns are
derived from that, to be searched. `uid` is the id that the sender's notebook gave.
"""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime


class OwnIdentity(Base):
    """By what others tell this notebook from another, and the name the player signs with."""

    __tablename__ = "own_identity"

    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32))
    player_name: Mapped[str] = mapped_column(String(120), default="")


class Sender(Base):
    """Another player's notebook, from which something came."""

    __tablename__ = "sender"

    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    name: Mapped[str] = mapped_column(String(120), default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    received_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)

    @property
    def shown_name(self) -> str:
        """The name, or words for one who gave none."""
        return self.name or "a player without a name"


class ReceivedInstrument(Base):
    """An instrument of a sender, with its keywork and set-up in `details`."""

    __tablename__ = "received_instrument"
    __table_args__ = (Index("uq_received_instrument_uid", "sender_id", "uid", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sender_id: Mapped[int] = mapped_column(ForeignKey("sender.id", ondelete="CASCADE"))
    uid: Mapped[str] = mapped_column(String(16))
    changed_at: Mapped[datetime] = mapped_column(UtcDateTime)
    kind_id: Mapped[str] = mapped_column(String(60))
    details: Mapped[str] = mapped_column(Text)

    sender: Mapped[Sender] = relationship(lazy="raise")


class ReceivedFingering(Base):
    """A fingering of a sender, whole in `details`; where it sounds, to be found by."""

    __tablename__ = "received_fingering"
    __table_args__ = (
        Index("uq_received_fingering_uid", "instrument_id", "uid", unique=True),
        Index("ix_received_fingering_sounding", "sounding_cents"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("received_instrument.id", ondelete="CASCADE")
    )
    uid: Mapped[str] = mapped_column(String(16))
    changed_at: Mapped[datetime] = mapped_column(UtcDateTime)
    sounding_cents: Mapped[float]
    details: Mapped[str] = mapped_column(Text)

    instrument: Mapped[ReceivedInstrument] = relationship(lazy="raise")


class ReceivedClip(Base):
    """The recording of a sender's take, as it came; its hash proves it."""

    __tablename__ = "received_clip"
    __table_args__ = (Index("uq_received_clip", "fingering_id", "sha256", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    fingering_id: Mapped[int] = mapped_column(
        ForeignKey("received_fingering.id", ondelete="CASCADE")
    )
    clip_name: Mapped[str] = mapped_column(String(80), unique=True)
    clip_format: Mapped[str] = mapped_column(String(10))
    sha256: Mapped[str] = mapped_column(String(64))


class ReceivedList(Base):
    """A list that a sender made for the player, as a teacher does, waiting to be accepted."""

    __tablename__ = "received_list"
    __table_args__ = (Index("uq_received_list_uid", "sender_id", "uid", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sender_id: Mapped[int] = mapped_column(ForeignKey("sender.id", ondelete="CASCADE"))
    uid: Mapped[str] = mapped_column(String(16))
    changed_at: Mapped[datetime] = mapped_column(UtcDateTime)
    details: Mapped[str] = mapped_column(Text)
    accepted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)

    sender: Mapped[Sender] = relationship(lazy="raise")


class ReceivedOrigin(Base):
    """Of a fingering of the player's own: whose it started from."""

    __tablename__ = "received_origin"

    fingering_id: Mapped[int] = mapped_column(
        ForeignKey("fingering.id", ondelete="CASCADE"), primary_key=True
    )
    received_id: Mapped[int | None] = mapped_column(
        ForeignKey("received_fingering.id", ondelete="SET NULL"), index=True
    )
    sender_name: Mapped[str] = mapped_column(String(120), default="")
