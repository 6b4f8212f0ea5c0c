"""Layouts: those that ship with the program, and the player's own, which are rows.

An own layout is kept as the text of its file, written out in full, so that it means the same
whatever a later version of the program ships. Its id is its own for good: a shipped one can't be
taken. What becomes of fingerings when it is changed stands in `layout_changes`.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.keywork import (
    Layout,
    layout_ids,
    load_layout,
    ordinary_fingerings,
    read_layout,
    right_thumb_choices,
    write_layout,
)
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument, OwnLayout

FIRST_VERSION = 1
LONGEST_ID = 60
# Words that stand in the place of an id in the addresses of pages.
_ADDRESSES = frozenset({"new"})


@dataclass(frozen=True, slots=True)
class LayoutEntry:
    """A layout with what the pages show of it; `own` is its row if it is the player's."""

    layout: Layout
    own: OwnLayout | None = None
    instruments: tuple[str, ...] = ()

    @property
    def ordinary_count(self) -> int:
        """How many ordinary fingerings it lists."""
        return len(ordinary_fingerings(self.layout))

    @property
    def has_thumb_choice(self) -> bool:
        """Whether it makes a difference to this keywork what the right thumb does."""
        return bool(right_thumb_choices(self.layout))


def list_layouts(notebook: Notebook) -> tuple[LayoutEntry, ...]:
    """Return the player's own layouts, then the shipped ones, each by name."""
    with notebook.database.reading() as session:
        rows = session.scalars(select(OwnLayout).where(OwnLayout.deleted_at.is_(None))).all()
        users = _users(session)
    entries = [LayoutEntry(row.read(), row, users.get(row.id, ())) for row in rows]
    own = {row.id for row in rows}
    shipped = [
        LayoutEntry(load_layout(each), None, () if each in own else users.get(each, ()))
        for each in layout_ids()
    ]
    return (
        *sorted(entries, key=lambda each: each.layout.name),
        *sorted(shipped, key=lambda each: each.layout.name),
    )


def open_layout(notebook: Notebook, layout_id: str) -> LayoutEntry:
    """Return one layout.

    Raises:
        NotInNotebook: there is none of this id, or it lies in the bin.
    """
    with notebook.database.reading() as session:
        layout, own = find_layout(session, layout_id)
        return LayoutEntry(layout, own, _users(session).get(layout_id, ()))


def open_own_layout(notebook: Notebook, layout_id: str) -> LayoutEntry:
    """Return one layout of the player's own.

    Raises:
        NotInNotebook: there is none of this id, or it lies in the bin.
    """
    with notebook.database.reading() as session:
        row = fetch_own(session, layout_id)
        return LayoutEntry(row.read(), row, _users(session).get(layout_id, ()))


def find_layout(session: Session, layout_id: str) -> tuple[Layout, OwnLayout | None]:
    """Return a layout, with its row if it is the player's own.

    Raises:
        NotInNotebook: there is none of this id, or it lies in the bin.
    """
    row = session.get(OwnLayout, layout_id)
    if row is not None and row.deleted_at is None:
        return row.read(), row
    if layout_id in layout_ids():
        return load_layout(layout_id), None
    raise NotInNotebook(
        f"There is no layout “{layout_id[:LONGEST_ID]}” in this notebook. "
        "The page about keywork lists those that there are."
    )


def own_layouts(notebook: Notebook) -> tuple[Layout, ...]:
    """Return the player's own layouts by name."""
    query = select(OwnLayout).where(OwnLayout.deleted_at.is_(None)).order_by(OwnLayout.name)
    with notebook.database.reading() as session:
        return tuple(row.read() for row in session.scalars(query))


def propose_layout(notebook: Notebook, layout_id: str) -> str:
    """Write the text from which a layout of the player's own can be made.

    Raises:
        NotInNotebook: there is no such layout to start from.
    """
    with notebook.database.reading() as session:
        layout, _ = find_layout(session, layout_id)
        taken = {*layout_ids(), *session.scalars(select(OwnLayout.id))}
    new_id = next(each for each in _ids_like(layout_id) if each not in taken)
    return write_layout(
        retold(
            layout,
            id=new_id,
            version=FIRST_VERSION,
            name=f"My {layout.name}",
            provenance=f"made by its player from {layout.name}",
        )
    )


def _ids_like(layout_id: str) -> Iterator[str]:
    stem = f"my-{layout_id.removeprefix('my-')}"[: LONGEST_ID - 6]
    yield stem
    for number in count(2):
        yield f"{stem}-{number}"


def retold(layout: Layout, **facts: Any) -> Layout:
    """Return a layout that says other things of itself, with all its keys and with those it has."""
    full = replace(layout.full, **facts) if layout.full else None
    return replace(layout, **facts, full=full)


def add_layout(notebook: Notebook, text: str) -> str:
    """Keep a new layout of the player's own and return its id.

    Raises:
        LayoutError: the text is no layout; it says where.
        FieldRefused: the id is taken.
    """
    layout = read_layout(text)
    with notebook.database.writing() as session:
        _refuse_taken(session, layout.id)
        session.add(
            OwnLayout(
                id=layout.id,
                name=layout.name,
                version=layout.version,
                toml=write_layout(layout),
            )
        )
    return layout.id


def remove_layout(notebook: Notebook, layout_id: str) -> None:
    """Put an own layout in the bin.

    Raises:
        NotInNotebook: there is none.
        FieldRefused: an instrument has it.
    """
    with notebook.database.writing() as session:
        row = fetch_own(session, layout_id)
        users = _users(session, with_binned=True).get(layout_id)
        if users:
            named = ", ".join(f"“{user}”" for user in users)
            raise FieldRefused(
                "layout",
                f"“{row.name}” is the keywork of {named} (the bin counts). "
                "It can go when no instrument has it.",
            )
        row.deleted_at = now_utc()


def restore_layout(notebook: Notebook, layout_id: str) -> None:
    """Take an own layout out of the bin.

    Raises:
        NotInNotebook: there is none (any more).
    """
    with notebook.database.writing() as session:
        fetch_own(session, layout_id, with_binned=True).deleted_at = None


def fetch_own(session: Session, layout_id: str, *, with_binned: bool = False) -> OwnLayout:
    """Return the row of an own layout.

    Raises:
        NotInNotebook: there is none, or it lies in the bin and `with_binned` is off.
    """
    row = session.get(OwnLayout, layout_id)
    if row is None or (row.deleted_at is not None and not with_binned):
        raise NotInNotebook(
            f"There is no layout of your own called “{layout_id[:LONGEST_ID]}”. "
            "Shipped layouts stay as they are: make one of your own from them."
        )
    return row


def _refuse_taken(session: Session, layout_id: str) -> None:
    if layout_id in _ADDRESSES:
        raise FieldRefused("toml", f"A layout can't be called “{layout_id}”. Give it another id.")
    if layout_id in layout_ids():
        raise FieldRefused(
            "toml",
            f"The id “{layout_id}” belongs to a layout that comes with the program. "
            "Give yours another one in its first lines, such as "
            f"“my-{layout_id}”.",
        )
    if session.get(OwnLayout, layout_id) is not None:
        raise FieldRefused(
            "toml",
            f"There is a layout “{layout_id}” of your own already (perhaps in the bin). "
            "Change that one, or give this one another id in its first lines.",
        )


def _users(session: Session, *, with_binned: bool = False) -> dict[str, tuple[str, ...]]:
    """Find the names of the instruments by the layout they have."""
    users: dict[str, tuple[str, ...]] = {}
    query = select(Instrument.layout_id, Instrument.name).order_by(Instrument.id)
    if not with_binned:
        query = query.where(Instrument.deleted_at.is_(None))
    for layout_id, name in session.execute(query):
        users[layout_id] = (*users.get(layout_id, ()), name)
    return users
