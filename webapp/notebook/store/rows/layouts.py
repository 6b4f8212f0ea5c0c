"""The rows of the player's own layouts, and how an instrument's choice of keys is kept.

Reading a layout takes a while, so that each text and each choice is read once.
"""

import json
from collections.abc import Collection, Mapping
from datetime import datetime
from functools import lru_cache

from sqlalchemy import String, Text
from sqlalchemy.orm import Mapped, mapped_column

from analysis.keywork import Layout, LayoutError, RightThumb, customise, read_layout
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.rows.base import Base, UtcDateTime


class OwnLayout(Base):
    """A layout of the player's own: the whole text of its file, and what lists show of it."""

    __tablename__ = "own_layout"

    id: Mapped[str] = mapped_column(String(60), primary_key=True)
    name: Mapped[str] = mapped_column(String(600))
    version: Mapped[int]
    toml: Mapped[str] = mapped_column(Text)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime, default=now_utc, onupdate=now_utc)
    deleted_at: Mapped[datetime | None] = mapped_column(UtcDateTime)

    def read(self) -> Layout:
        """Read the layout."""
        return read_kept_layout(self.toml)


@lru_cache(maxsize=64)
def read_kept_layout(toml: str) -> Layout:
    """Read the text of a layout, once; raises `analysis.keywork.LayoutError`."""
    return read_layout(toml)


@lru_cache(maxsize=256)
def customise_as_kept(
    layout: Layout, without: str | None, names: str | None, right_thumb: str | None
) -> Layout:
    """Customise a layout by what `write_without` and `write_names` wrote, and a kept thumb.

    Raises `analysis.keywork.KeyworkError` where the layout does not allow it.
    """
    return customise(
        layout,
        without=layout.without if without is None else frozenset(json.loads(without)),
        names={**dict(layout.renamed), **json.loads(names or "{}")},
        right_thumb=layout.right_thumb if right_thumb is None else _read_thumb(layout, right_thumb),
    )


def _read_thumb(layout: Layout, kept: str) -> RightThumb:
    try:
        return RightThumb(kept)
    except ValueError as error:
        known = ", ".join(RightThumb)
        problem = f"{kept[:20]!r} is not known; known are {known}"
        raise LayoutError(layout.id, "what the right thumb does", problem) from error


def write_without(key_ids: Collection[str]) -> str:
    """Write which keys an instrument lacks, as it is kept."""
    return json.dumps(sorted(key_ids))


def write_names(names: Mapping[str, str]) -> str | None:
    """Write the names an instrument's keys have, as they are kept; nothing for none."""
    return json.dumps(dict(sorted(names.items())), ensure_ascii=False) if names else None
