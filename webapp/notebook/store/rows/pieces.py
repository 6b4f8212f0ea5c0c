"""Pieces: each the part that the player plays, with its originals and decisions about its notes.

A note is keyed by its exact written cents on an instrument (`exact_key`), as choices are. What a
part says is never stored note by note: it is read anew from the transcript of the newest original
under the player's answers.
"""

from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, Date, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.fingerings import Fingering
from webapp.notebook.store.rows.instruments import Instrument


class Piece(Base):
    """A piece that the player prepares: one part, perhaps on several instruments.

    `answers` is JSON: the player's word on what the file cannot say (`settings_to_plain`).
    """

    __tablename__ = "piece"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(String(200))
    composer: Mapped[str] = mapped_column(String(200), default="")
    concert_on: Mapped[date | None] = mapped_column(Date)
    answers: Mapped[str] = mapped_column(Text, default="{}")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    version: Mapped[int] = mapped_column(default=1)


class OriginalKind(StrEnum):
    """Where a piece came from."""

    FILE = "file"
    TYPED = "typed"


PAPER_ENDINGS = frozenset({"pdf", "png", "jpeg"})


class PieceOriginal(Base):
    """Original of a piece, kept as it came: a score file, or text as it was typed.

    The newest of a piece counts; earlier ones say what has changed. `transcript` is JSON, derived
    from the file (`analysis.notation`). `note_names` is the language of typed text. One on paper
    is a file of the piece's own pages: its notes are the marks on them.
    """

    __tablename__ = "piece_original"
    __table_args__ = (CheckConstraint("kind IN ('file', 'typed')", name="kind_is_known"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    kind: Mapped[str] = mapped_column(String(10))
    clip_name: Mapped[str] = mapped_column(String(80))
    sha256: Mapped[str] = mapped_column(String(64))
    original_name: Mapped[str] = mapped_column(String(255), default="")
    part_number: Mapped[int] = mapped_column(default=1)
    part_name: Mapped[str] = mapped_column(String(200), default="")
    note_names: Mapped[str] = mapped_column(String(20), default="english")
    transcript: Mapped[str] = mapped_column(Text, deferred=True, deferred_raiseload=True)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    piece: Mapped[Piece] = relationship(lazy="raise")

    @property
    def is_paper(self) -> bool:
        """Whether the notes of the piece are those that are marked on its pages."""
        return self.clip_name.rpartition(".")[2] in PAPER_ENDINGS


class PieceInstrument(Base):
    """An instrument of the notebook that a piece is played on; a part may change instruments."""

    __tablename__ = "piece_instrument"

    piece_id: Mapped[int] = mapped_column(
        ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True
    )
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), primary_key=True, index=True
    )

    instrument: Mapped[Instrument] = relationship(lazy="raise")


class Settlement(StrEnum):
    """How the player settles a note that no fingering serves."""

    LIP = "lip"
    SUBSTITUTE = "substitute"
    LEAVE_OUT = "leave out"
    ASK = "ask"

    @property
    def words(self) -> str:
        """As a player says it."""
        return {
            Settlement.LIP: "lip it",
            Settlement.SUBSTITUTE: "substitute",
            Settlement.LEAVE_OUT: "leave it out",
            Settlement.ASK: "ask the composer",
        }[self]


class SettledNote(Base):
    """The player's word that a note of a piece is settled, and why."""

    __tablename__ = "settled_note"
    __table_args__ = (
        CheckConstraint("how IN ('lip', 'substitute', 'leave out', 'ask')", name="how_is_known"),
    )

    piece_id: Mapped[int] = mapped_column(
        ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True
    )
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), primary_key=True, index=True
    )
    written_exact: Mapped[str] = mapped_column(String(40), primary_key=True)
    how: Mapped[str] = mapped_column(String(10))
    reason: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    @property
    def settlement(self) -> Settlement:
        """How it is settled."""
        return Settlement(self.how)


class FixKind(StrEnum):
    """Which notes of a piece a fixed fingering is for."""

    NOTE = "note"
    """One note at its place: `bar` (index, else -1) and `onset` (quarter notes, in text)."""
    PITCH = "pitch"
    """Every note of that height."""
    PATTERN = "pattern"
    """That height between two others: `before_exact`, `after_exact`, each '' for any."""


class FixedFingering(Base):
    """A fingering that the player has fixed for notes of a piece; no plan changes it."""

    __tablename__ = "fixed_fingering"
    __table_args__ = (
        CheckConstraint("kind IN ('note', 'pitch', 'pattern')", name="kind_is_known"),
        CheckConstraint("(kind = 'note') = (bar >= 0)", name="place_of_note"),
        Index(
            "uq_fixed_fingering_place", "piece_id", "instrument_id", "kind", "written_exact",
            "bar", "onset", "before_exact", "after_exact", unique=True,
        ),
    )  # fmt: skip

    id: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"))
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), index=True
    )
    kind: Mapped[str] = mapped_column(String(10))
    written_exact: Mapped[str] = mapped_column(String(40))
    bar: Mapped[int] = mapped_column(default=-1)
    onset: Mapped[str] = mapped_column(String(40), default="")
    before_exact: Mapped[str] = mapped_column(String(40), default="")
    after_exact: Mapped[str] = mapped_column(String(40), default="")
    fingering_id: Mapped[int] = mapped_column(
        ForeignKey("fingering.id", ondelete="CASCADE"), index=True
    )
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    fingering: Mapped[Fingering] = relationship(lazy="raise")


class ComposerFingering(Base):
    """A fingering printed in the part, for a note or for a multiphonic.

    `pitches` are written, in canonical text with blanks between, from low to high. That of one note
    stands among the player's fingerings too; whether a multiphonic speaks is the player's word,
    None while it is not tried.
    """

    __tablename__ = "composer_fingering"
    __table_args__ = (
        Index(
            "uq_composer_fingering_keys", "piece_id", "instrument_id", "pitches", "keys_text",
            unique=True,
        ),
    )  # fmt: skip

    id: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"))
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), index=True
    )
    pitches: Mapped[str] = mapped_column(String(400))
    keys_text: Mapped[str] = mapped_column(String(400))
    fingering_id: Mapped[int | None] = mapped_column(
        ForeignKey("fingering.id", ondelete="SET NULL"), index=True
    )
    speaks: Mapped[bool | None]
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    fingering: Mapped[Fingering | None] = relationship(lazy="raise")

    @property
    def written(self) -> tuple[WrittenPitch, ...]:
        """The written pitches, from low to high."""
        return tuple(WrittenPitch.from_canonical(each) for each in self.pitches.split())


class PrintedSheet(Base):
    """Content of a printed sheet: JSON, bar by bar."""

    __tablename__ = "printed_sheet"

    id: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    content: Mapped[str] = mapped_column(Text, deferred=True, deferred_raiseload=True)
    printed_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)


class PieceLetter(Base):
    """Letter to the composer of a piece, as the player has edited it."""

    __tablename__ = "piece_letter"

    piece_id: Mapped[int] = mapped_column(
        ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True
    )
    instrument_id: Mapped[int] = mapped_column(
        ForeignKey("instrument.id", ondelete="CASCADE"), primary_key=True, index=True
    )
    text: Mapped[str] = mapped_column(Text)
    version: Mapped[int] = mapped_column(default=1)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)
