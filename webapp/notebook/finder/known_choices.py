"""Fingerings that the judge has for a note, as motion and trills are worked out with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.keywork import KeyStates, describe_motion, parse_fingering
from analysis.pitch import NoteNames, SignSystem, WrittenPitch, format_pitch
from webapp.notebook.finder.logged_rows import LEAST_SIGMA_CENTS
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.answers import answer_note
from webapp.notebook.targets.bases import OwnOrdinary, listed_bases
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.reading import read_target
from webapp.notebook.targets.standing import Judged

if TYPE_CHECKING:
    from analysis.finder import PlayerModel
    from analysis.planning import Playable

# What nobody has tried is in tune as often as not.
_NOT_TRIED_CHANCE = 0.5


@dataclass(frozen=True, slots=True)
class KnownChoice:
    """A fingering of the notebook that may be played for a note, and how it stands to it."""

    keys: KeyStates
    judged: Judged


@dataclass(frozen=True, slots=True)
class NeighbourNote:
    """The note before or after, and how it may be played: the player's best, or every choice."""

    written: WrittenPitch
    choices: tuple[KeyStates, ...]

    def nearest(self, keys: KeyStates) -> KeyStates:
        """Return the choice from which the hands have the shortest way."""
        return min(self.choices, key=lambda choice: describe_motion(choice, keys).cost)


def list_known(answer: NoteAnswer, instrument: Instrument) -> tuple[KnownChoice, ...]:
    """Return what may be played for a note, the best first; unreadable keys are left out."""
    found = []
    for judged in answer.serving:
        try:
            keys = parse_fingering(judged.facts.keys_text, instrument.layout)
        except AnalysisError:
            continue
        found.append(KnownChoice(keys, judged))
    return tuple(found)


def to_playable(
    model: PlayerModel,
    written: WrittenPitch,
    known: Sequence[KnownChoice],
    tolerance_cents: float,
) -> tuple[Playable, ...]:
    """Say how likely each known fingering is in tune for a note, in the order given.

    What is measured counts as measured; what was not tried is predicted.
    """
    from analysis.planning import Backing, predict_playable

    made: list[Playable] = []
    for each in known:
        measured = _to_measured(each, tolerance_cents)
        if measured is not None:
            made.append(measured)
            continue
        keys = np.array([model.tube.linkage.encode(each.keys)], dtype=np.uint64)
        made += predict_playable(
            model,
            written,
            keys,
            tolerance_cents=tolerance_cents,
            backing=Backing.NOT_TRIED,
            logged_id=each.judged.facts.fingering_id,
        )
    return tuple(made)


def to_unpredicted(
    known: Sequence[KnownChoice], ordinary: Iterable[KeyStates], tolerance_cents: float
) -> tuple[Playable, ...]:
    """Say the same without a model: ordinary fingerings count as in tune, untried ones half so."""
    from analysis.planning import Backing, Playable, join_playable

    made = []
    for each in known:
        number = each.judged.facts.fingering_id
        measured = _to_measured(each, tolerance_cents)
        untried = Playable(each.keys, 0.0, 0.0, _NOT_TRIED_CHANCE, Backing.NOT_TRIED, number)
        made.append(measured or untried)
    usual = (Playable(keys, 0.0, 0.0, 1.0, Backing.ORDINARY) for keys in ordinary)
    return join_playable(made, usual)


def _to_measured(known: KnownChoice, tolerance_cents: float) -> Playable | None:
    from analysis.planning import judge_measured

    facts, offset = known.judged.facts, known.judged.offset_cents
    if not facts.is_measured or offset is None:
        return None
    return judge_measured(
        known.keys,
        offset,
        max(LEAST_SIGMA_CENTS, facts.uncertainty_cents or 0.0),
        tolerance_cents=tolerance_cents,
        logged_id=facts.fingering_id,
    )


def find_neighbour(
    session: Session,
    instrument: Instrument,
    text: str,
    own: OwnOrdinary,
    *,
    field: str,
    names: NoteNames,
    system: SignSystem | None,
) -> NeighbourNote | None:
    """Read the note before or after, and find how it is played; None where nothing was typed.

    The player's best counts, else the ordinary fingerings.

    Raises:
        FieldRefused: the note can't be read, or nothing is known for it.
    """
    if not text.strip():
        return None
    written = read_target(text, instrument, names, field=field, system=system)
    known = list_known(answer_note(session, instrument, written), instrument)
    if known:
        return NeighbourNote(written, (known[0].keys,))
    choices = list_ordinary_choices(instrument, written, own)
    if not choices:
        raise FieldRefused(
            field,
            f"No fingering is known for {format_pitch(written, names=names)} yet, so no way "
            "from or to it can be weighed. Log one, or leave this open.",
        )
    return NeighbourNote(written, choices)


def list_ordinary_choices(
    instrument: Instrument, written: WrittenPitch, own: OwnOrdinary
) -> tuple[KeyStates, ...]:
    """Return the player's own ordinary fingering of a note, else those of the layout."""
    if written.cents in own:
        return (own[written.cents].keys,)
    return tuple(
        base.keys for base in listed_bases(instrument) if base.written.cents == written.cents
    )
