"""A layout of the player's own is changed while fingerings are logged on it.

The rule: keys keep their ids, and what is logged keeps its keys. Every fingering (and what it came
from) is read with the layout as it was and written anew with the layout as it will be, key by key.
A change that would lose a key or a state that one of them uses is refused with their names; so is
one that an instrument with this layout can't follow. Tokens, names, places, holes and ordinary
fingerings may change freely. Each change counts the layout's version up by one.
"""

from collections.abc import Iterable, Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from analysis.errors import AnalysisError
from analysis.keywork import (
    KeyStates,
    Layout,
    LayoutError,
    StateNotAllowed,
    UnknownKey,
    format_fingering,
    parse_fingering,
    read_layout,
    write_layout,
)
from analysis.pitch import NoteNames, Sentence
from webapp.notebook.instruments.layouts import fetch_own, retold
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.derived import keep_keys
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.notebook.store.note_refusals import NoteRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    KeptLoop,
    OwnLayout,
    Practice,
    PracticeTarget,
)
from webapp.notebook.takes.evidence import refresh_evidence

NAMED_AT_MOST = 4


def change_layout(notebook: Notebook, layout_id: str, text: str, *, seen_version: int) -> int:
    """Change an own layout and return its version, which is the old one if nothing changed.

    Raises:
        NotInNotebook, StaleEdit.
        LayoutError: the text is no layout; it says where.
        FieldRefused: its id is another one, or what is logged or owned can't follow.
    """
    layout = read_layout(text)
    with notebook.database.writing() as session:
        row = fetch_own(session, layout_id)
        if row.version != seen_version:
            raise StaleEdit(
                "This layout was changed in another window after you opened it here. "
                "Your text is below; nothing was overwritten."
            )
        if layout.id != layout_id:
            raise FieldRefused(
                "toml",
                f"This layout is “{layout_id}” for good; the text says “{layout.id}”. Put the id "
                "back, or keep the text as a new layout.",
            )
        was = row.read()
        layout = retold(layout, version=was.version)
        if layout == was:
            return row.version
        layout = retold(layout, version=was.version + 1)
        _rewrite(session, row, layout)
        row.toml, row.name, row.version = write_layout(layout), layout.name, layout.version
        return row.version


def _rewrite(session: Session, row: OwnLayout, layout: Layout) -> None:
    instruments = session.scalars(
        select(Instrument).where(Instrument.own_layout_id == row.id).order_by(Instrument.id)
    ).all()
    for instrument in instruments:
        was, will_be = instrument.layout, _follow(instrument, layout)
        fingerings = session.scalars(
            select(Fingering)
            .where(Fingering.instrument_id == instrument.id)
            .options(joinedload(Fingering.instrument))
            .order_by(Fingering.written_cents, Fingering.id)
        ).all()
        _carry_over(fingerings, was, will_be, find_preferences(session).names)
        _carry_loops(session, instrument.id, was, will_be)
        instrument.layout_version = layout.version
        for fingering in fingerings:
            if fingering.shares_evidence:  # which others have the same holes may have changed
                refresh_evidence(session, fingering)


def _follow(instrument: Instrument, layout: Layout) -> Layout:
    """Return the changed layout as an instrument has it, or say why it can't have it."""
    if instrument.kind_id not in layout.kinds:
        raise FieldRefused(
            "toml",
            f"“{instrument.name}” has this layout and is a {instrument.kind.name} clarinet: keep "
            f"“{instrument.kind_id}” among the kinds.",
        )
    try:
        return instrument.customised(layout)
    except LayoutError as error:
        problem = error.problem
    except AnalysisError as error:
        problem = str(error)
    raise FieldRefused(
        "toml", f"“{instrument.name}” switches off or renames keys of this layout: {problem}"
    )


def _carry_over(
    fingerings: Iterable[Fingering], was: Layout, will_be: Layout, names: NoteNames
) -> None:
    lost: dict[str, list[Sentence]] = {}
    for fingering in fingerings:
        try:
            keys = carry(parse_fingering(fingering.keys_text, was), will_be)
            base_text = fingering.base_keys_text
            base = carry(parse_fingering(base_text, was), will_be) if base_text else None
        except (UnknownKey, StateNotAllowed) as error:
            lost.setdefault(str(error), []).append(Sentence(fingering.written))
            continue
        keep_keys(fingering, keys)
        fingering.base_keys_text = format_fingering(base) if base else None
    if lost:
        raise NoteRefused("toml", _say_lost(lost), names)


def _carry_loops(session: Session, instrument_id: int, was: Layout, will_be: Layout) -> None:
    """Set loops, recorded and on lists, on the changed layout; what it lacks stays as it was."""
    for loop in session.scalars(select(KeptLoop).where(KeptLoop.instrument_id == instrument_id)):
        loop.lower_keys_text = _carry_text(loop.lower_keys_text, was, will_be)
        loop.upper_keys_text = _carry_text(loop.upper_keys_text, was, will_be)
    listed = (
        select(PracticeTarget)
        .join(PracticeTarget.practice)
        .where(Practice.instrument_id == instrument_id, PracticeTarget.second_text.is_not(None))
    )
    for target in session.scalars(listed):
        target.keys_text = _carry_text(target.keys_text or "", was, will_be)
        target.second_keys_text = _carry_text(target.second_keys_text or "", was, will_be)


def _carry_text(keys_text: str, was: Layout, will_be: Layout) -> str:
    try:
        return format_fingering(carry(parse_fingering(keys_text, was), will_be))
    except AnalysisError:
        return keys_text


def carry(keys: KeyStates, layout: Layout) -> KeyStates:
    """Set the same keys on another version of a layout.

    Raises:
        UnknownKey, StateNotAllowed: that version can't be set so.
    """
    return KeyStates.of(layout, {key.id: keys.state(key.id) for key in keys.pressed})


def list_some(users: Sequence[Sentence]) -> Sentence:
    """List the first few of what uses a key, and how many more there are."""
    parts: list[str | Sentence] = []
    for place, each in enumerate(users[:NAMED_AT_MOST]):
        parts.extend((", " if place else "", each))
    left = len(users) - NAMED_AT_MOST
    return Sentence(*parts, f" and {left} more" if left > 0 else "")


def _say_lost(lost: Mapping[str, Sequence[Sentence]]) -> Sentence:
    parts: list[str | Sentence] = []
    for problem, targets in lost.items():
        parts.append(" " if parts else "")
        parts.append(f"{problem} It is used by what is logged (the bin and bases count): ")
        parts.append(list_some(targets))
        parts.append(". Keep the key and its states, or keep the text as a new layout.")
    return Sentence(*parts)
