"""Own pages: the player's printed part as a file, and the marks of notes on its pages.

A mark keeps the note, never its fingering: which one stands there is asked anew each time, so all
marks of a note change together. `seen_keys` is what the player last saw there.
"""

from datetime import datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime
from webapp.notebook.store.rows.pieces import Piece


class PageFile(Base):
    """A file with pages of a part, kept as it came; a piece may have several, in their order.

    `kind` is pdf, png or jpeg. `sizes` is JSON: width and height of each page in mm, as it is seen.
    """

    __tablename__ = "page_file"
    __table_args__ = (CheckConstraint("kind IN ('pdf', 'png', 'jpeg')", name="kind_is_known"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    kind: Mapped[str] = mapped_column(String(10))
    clip_name: Mapped[str] = mapped_column(String(80))
    sha256: Mapped[str] = mapped_column(String(64))
    original_name: Mapped[str] = mapped_column(String(255), default="")
    sizes: Mapped[str] = mapped_column(Text)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    piece: Mapped[Piece] = relationship(lazy="raise")


class MarkForm(StrEnum):
    """How a fingering stands on a page."""

    DRAWING = "drawing"
    LETTER = "letter"


class PageMark(Base):
    """A note that is marked on a page, and where its fingering stands.

    `page` is its index in the file; `x_mm` and `y_mm` lead from the left and the top of the page to
    the foot of the drawing. `pitches` are written, in canonical text with blanks between: several
    of a multiphonic; `transposition_cents` says for which instruments. `onset` in quarter notes is
    '' where the note was not taken from a part that was read.
    """

    __tablename__ = "page_mark"
    __table_args__ = (
        CheckConstraint("form IN ('drawing', 'letter')", name="form_is_known"),
        CheckConstraint("page >= 0", name="page_is_there"),
        Index("ix_page_mark_place", "file_id", "page"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    file_id: Mapped[int] = mapped_column(ForeignKey("page_file.id", ondelete="CASCADE"))
    page: Mapped[int]
    x_mm: Mapped[float]
    y_mm: Mapped[float]
    pitches: Mapped[str] = mapped_column(String(400))
    transposition_cents: Mapped[int]
    bar_label: Mapped[str] = mapped_column(String(20))
    onset: Mapped[str] = mapped_column(String(40), default="")
    is_second: Mapped[bool] = mapped_column(default=False)
    form: Mapped[str] = mapped_column(String(10), default=MarkForm.DRAWING.value)
    seen_keys: Mapped[str] = mapped_column(String(400), default="")
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)

    file: Mapped[PageFile] = relationship(lazy="raise")

    @property
    def written(self) -> tuple[WrittenPitch, ...]:
        """The written pitches, from low to high."""
        return tuple(WrittenPitch.from_canonical(each) for each in self.pitches.split())
