"""Claims: who is doing a job in the background, and until when that may be believed."""

from datetime import datetime

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from webapp.notebook.store.rows.base import Base, UtcDateTime


class Claim(Base):
    """A job that one program has taken on; the row goes when the job is done or given up.

    A program that was killed leaves its row behind, which counts until it expires.
    """

    __tablename__ = "claim"

    name: Mapped[str] = mapped_column(String(80), primary_key=True)
    owner: Mapped[str] = mapped_column(String(120))
    since: Mapped[datetime] = mapped_column(UtcDateTime)
    expires_at: Mapped[datetime] = mapped_column(UtcDateTime)
