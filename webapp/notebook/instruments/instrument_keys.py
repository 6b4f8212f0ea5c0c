"""The keys of one instrument: which of its layout's optional keys it lacks, and what it calls them.

Both are kept beside the layout, so that the layout itself stays as others have it. The text form of
fingerings keeps the layout's own words; a name of the player's own is understood when typed.
"""

from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.keywork import KeyNotOptional, Layout, LayoutError, UnknownKey, customise
from analysis.keywork import parse_fingering as read_keys
from analysis.pitch import Sentence
from webapp.notebook.instruments.layout_changes import list_some
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch, raise_version
from webapp.notebook.store.note_refusals import NoteRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.store.rows.layouts import write_names, write_without


def change_keys(
    notebook: Notebook,
    instrument_id: int,
    *,
    without: frozenset[str],
    names: Mapping[str, str],
    seen_version: int,
) -> None:
    """Say which optional keys an instrument lacks, and its own names by key id.

    An empty name, or the layout's own, means the layout's own.

    Raises:
        NotInNotebook, StaleEdit.
        FieldRefused: a key is pressed by what is logged, can't be missing, or a name can't be used.
            The field is `has-<key>` or `name-<key>`.
    """
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        raise_version(instrument, seen_version)
        plain = instrument.plain_layout
        own = _own_names(plain, names)
        _customise(plain, without, own)
        _refuse_keys_in_use(session, instrument, without - instrument.layout.without)
        is_usual = without == plain.without
        instrument.without_keys = None if is_usual else write_without(without)
        instrument.key_names = write_names(own)


def _own_names(plain: Layout, names: Mapping[str, str]) -> dict[str, str]:
    called = {key.id: key.name for key in plain.complete.keys} | dict(plain.renamed)
    wanted = {key_id: name.strip() for key_id, name in names.items()}
    return {
        key_id: name
        for key_id, name in wanted.items()
        if name and key_id in called and name != called[key_id]
    }


def _customise(plain: Layout, without: frozenset[str], own: Mapping[str, str]) -> None:
    try:
        customise(plain, without=without)
    except (KeyNotOptional, UnknownKey) as error:
        raise FieldRefused("keys", str(error)) from error
    except LayoutError as error:
        raise FieldRefused("keys", error.problem) from error
    for key_id, name in own.items():
        # One by one and then all at once: two new names can be in each other's way too.
        for tried in ({key_id: name}, own):
            try:
                customise(plain, without=without, names={**dict(plain.renamed), **tried})
            except LayoutError as error:
                raise FieldRefused(f"name-{key_id}", f"{error.problem}.") from error


def _refuse_keys_in_use(
    session: Session, instrument: Instrument, newly_absent: frozenset[str]
) -> None:
    layout = instrument.layout
    for key in layout.complete.keys:
        if key.id not in newly_absent or not layout.has_key(key.id):
            continue
        users = _find_users(session, instrument, key.id)
        if users:
            said = Sentence(
                f"The {layout.key(key.id).name} is pressed in what is logged: ",
                list_some(users),
                ". Change or remove those first (the bin counts), or keep the key.",
            )
            names = find_preferences(session).names
            raise NoteRefused(f"has-{key.id}", said, names)


def _find_users(session: Session, instrument: Instrument, key_id: str) -> list[Sentence]:
    """Name the fingerings that press a key, or came from one that does."""
    layout = instrument.layout
    query = (
        select(Fingering)
        .where(Fingering.instrument_id == instrument.id)
        .order_by(Fingering.written_cents, Fingering.id)
    )
    users = []
    for row in session.scalars(query):
        place = "in the bin" if row.deleted_at else ""
        for text, role in ((row.keys_text, ""), (row.base_keys_text, "as what it came from")):
            if text and any(key.id == key_id for key in read_keys(text, layout).pressed):
                said = ", ".join(filter(None, (role, place)))
                users.append(Sentence(row.written, f" ({said})" if said else ""))
                break
    return users
