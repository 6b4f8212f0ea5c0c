"""Preferences: how the player wants things written."""

from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from analysis.finder.inputs import USUAL_LIP, LipReach, PlayersLip
from analysis.pitch import STEIN_ZIMMERMANN, NoteNames, SignSystem, SystemId
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Preferences

THEMES = ("system", "light", "dark")
TOLERANCE_RANGE_CENTS = (1.0, 50.0)
# the fields of a form, for what lies in a `PlayersLip`
LIP_FIELDS = ("lip_down_cents", "lip_up_cents", "lip_down_high_cents", "lip_up_high_cents")
MOST_LIP_CENTS = 60.0


@dataclass(frozen=True, slots=True)
class Writing:
    """The preferences as the pages use them."""

    names: NoteNames = NoteNames.ENGLISH
    accidentals: SignSystem = STEIN_ZIMMERMANN
    tolerance_cents: float = 10.0
    theme: str = "system"
    lip: PlayersLip = USUAL_LIP

    def with_signs(self, kind: SystemId) -> "Writing":
        """Return the preferences with another system of signs; the sizes of arrows go on."""
        return replace(self, accidentals=replace(self.accidentals, id=kind))


def read_preferences(notebook: Notebook) -> Writing:
    """Return the preferences; nothing is stored for a player who changed none."""
    with notebook.database.reading() as session:
        return find_preferences(session)


def find_preferences(session: Session) -> Writing:
    """Return the preferences, within a transaction that may read more; they are read once in it."""
    known = session.info.get(Writing)
    if not isinstance(known, Writing):
        known = session.info[Writing] = _read(session.get(Preferences, 1))
    return known


def _read(row: Preferences | None) -> Writing:
    if row is None:
        return Writing()
    return Writing(
        names=NoteNames(row.note_names),
        accidentals=SignSystem.from_text(row.accidental_style),
        tolerance_cents=row.tolerance_cents,
        theme=row.theme,
        lip=PlayersLip(
            _read_reach(USUAL_LIP.usual, row.lip_down_cents, row.lip_up_cents),
            _read_reach(USUAL_LIP.altissimo, row.lip_down_high_cents, row.lip_up_high_cents),
        ),
    )


def _read_reach(usual: LipReach, down_cents: float | None, up_cents: float | None) -> LipReach:
    return LipReach(
        usual.sharp_cents if down_cents is None else down_cents,
        usual.flat_cents if up_cents is None else up_cents,
    )


def read_version(notebook: Notebook) -> int:
    """Return how often the preferences were changed; 0 where they never were."""
    with notebook.database.reading() as session:
        row = session.get(Preferences, 1)
        return row.version if row is not None else 0


def change_preferences(
    notebook: Notebook, wanted: Writing, *, seen_version: int | None = None
) -> None:
    """Keep the preferences.

    Args:
        notebook: the notebook.
        wanted: the preferences.
        seen_version: that of the preferences that the player saw; None keeps them in any case.

    Raises:
        FieldRefused: the tolerance or a reach of the lip is out of its range.
        StaleEdit: they were changed elsewhere since.
    """
    low, high = TOLERANCE_RANGE_CENTS
    if not low <= wanted.tolerance_cents <= high:
        raise FieldRefused(
            "tolerance_cents",
            f"A tolerance of {wanted.tolerance_cents:g} cents was entered. "
            f"Give one from {low:g} to {high:g}.",
        )
    _check_lip(wanted.lip)
    with notebook.database.writing() as session:
        row = session.get(Preferences, 1) or Preferences(id=1, version=0)
        if seen_version is not None and row.version != seen_version:
            raise StaleEdit(
                "The preferences were changed in another window after you opened them here. What "
                "you chose stands below; nothing was overwritten. Keep it, or load the page again."
            )
        row.version += 1
        row.note_names = wanted.names.value
        row.accidental_style = wanted.accidentals.text
        row.tolerance_cents = wanted.tolerance_cents
        row.theme = wanted.theme
        figures = zip(LIP_FIELDS, list_lip(wanted.lip), list_lip(USUAL_LIP), strict=True)
        for name, cents, usual_cents in figures:
            setattr(row, name, None if cents == usual_cents else cents)
        session.add(row)


def list_lip(lip: PlayersLip) -> tuple[float, ...]:
    """List the figures of a player's lip in the order of `LIP_FIELDS`."""
    low, high = lip.usual, lip.altissimo
    return (low.sharp_cents, low.flat_cents, high.sharp_cents, high.flat_cents)


def _check_lip(lip: PlayersLip) -> None:
    for name, cents in zip(LIP_FIELDS, list_lip(lip), strict=True):
        if not 0.0 <= cents <= MOST_LIP_CENTS:
            raise FieldRefused(
                name, f"{cents:g} cents were entered. Give from 0 to {MOST_LIP_CENTS:g}."
            )
