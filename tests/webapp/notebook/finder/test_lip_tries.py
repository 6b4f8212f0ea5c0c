"""Reach of a player's lip, learned: takes played watching beside those played without."""

import pytest

from analysis.finder.inputs import LipTry
from analysis.keywork import parse_fingering
from analysis.pitch import Register
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.notebook.fingerings.test_shifts import F_SHARP, sounding_hz
from tests.webapp.snapshots import counted_queries
from webapp.notebook.finder.lip_tries import (
    collect_dynamic_spans,
    collect_lip_tries,
    learn_from_takes,
)
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument

G5 = "T R 123 | ---"


def find(notebook: Notebook, instrument_id: int) -> tuple[LipTry, ...]:
    with notebook.database.reading() as session:
        return collect_lip_tries(session, fetch(session, Instrument, instrument_id))


def test_a_note_played_watching_and_without_shows_how_far_the_lip_went(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    soprano = add_clarinet(notebook)
    fingering = log(notebook, soprano, "F#5", F_SHARP)
    take_maker(notebook, fingering, sounding_hz("F#5", 21.0))
    assert find(notebook, soprano) == ()
    take_maker(notebook, fingering, sounding_hz("F#5", 4.0), is_watched=True)
    (found,) = find(notebook, soprano)
    # closed formula: the cents that were put in
    assert found.without_cents == pytest.approx(21.0, abs=0.01)
    assert found.watching_cents == pytest.approx(4.0, abs=0.01)
    assert found.register is Register.CLARION


def test_it_takes_one_query_however_many_there_are(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    soprano = add_clarinet(notebook)
    for note, keys in (("F#5", F_SHARP), ("G5", "T R 123 | ---"), ("C#6", "T R -23 | 12-")):
        fingering = log(notebook, soprano, note, keys)
        take_maker(notebook, fingering, sounding_hz(note, -9.0))
        take_maker(notebook, fingering, sounding_hz(note, 0.0), is_watched=True)
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, soprano)
        with counted_queries(notebook) as queries:
            found = collect_lip_tries(session, instrument)
    assert len(queries) == 1
    assert [one.register for one in found] == [
        Register.CLARION,
        Register.CLARION,
        Register.ALTISSIMO,
    ]


def test_takes_at_several_dynamics_show_how_far_a_fingering_moves(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    soprano = add_clarinet(notebook)
    moved, still = log(notebook, soprano, "F#5", F_SHARP), log(notebook, soprano, "G5", G5)
    for dynamic, cents in (("p", 9.0), ("ff", -6.0), ("ff", -8.0)):
        take_maker(notebook, moved, sounding_hz("F#5", cents), dynamic=dynamic)
    take_maker(notebook, still, sounding_hz("G5", 3.0), dynamic="mf")
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, soprano)
        with counted_queries(notebook) as queries:
            (found,) = collect_dynamic_spans(session, instrument)
        told = learn_from_takes(session, instrument)
    assert len(queries) == 1
    # closed formula: the cents that were put in, those of one dynamic taken together
    assert found.span_cents == pytest.approx(16.0, abs=0.01)
    assert found.fingering == parse_fingering(F_SHARP, instrument.layout)
    assert found.sigma_cents == pytest.approx(4.0 * 1.5**0.5)
    assert told.spans == (found,)
