"""What the right thumb does on one instrument: kept or refused; what is logged stays."""

import pytest
from sqlalchemy import text

from analysis.keywork import RightThumb, find_conflicts, parse_fingering
from tests.webapp.logging_rows import ENGLISH, add_clarinet, clarinet, draft, log
from webapp.notebook.entry.opening import open_entry
from webapp.notebook.fingerings.fingerings import (
    FingeringDraft,
    change_fingering,
    log_fingering,
    open_fingering,
)
from webapp.notebook.instruments.instruments import change_instrument, open_instrument
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.targets.overview import cover_instrument
from webapp.notebook.targets.search import SearchQuery, search_target

BASS = {"kind_id": "b-flat-bass", "layout_id": "bass-low-c"}
LOW_C = "T 123 | 123 | thumb low C"


@pytest.fixture
def bass(notebook: Notebook) -> int:
    return add_clarinet(notebook, "Bass", **BASS)


def say(notebook: Notebook, bass: int, thumb: str, *, seen: int = 1) -> None:
    change_instrument(
        notebook, bass, clarinet("Bass", right_thumb=thumb, **BASS), seen_version=seen
    )


def test_it_is_kept_and_goes_back_to_what_is_usual(notebook: Notebook, bass: int) -> None:
    plain = open_instrument(notebook, bass)
    assert (plain.right_thumb, plain.layout.right_thumb) == (None, RightThumb.FREE)
    say(notebook, bass, "carries")
    assert open_instrument(notebook, bass).layout.right_thumb is RightThumb.CARRIES
    assert open_instrument(notebook, bass).plain_layout == plain.layout
    say(notebook, bass, "", seen=2)
    again = open_instrument(notebook, bass)
    assert (again.right_thumb, again.layout) == (None, plain.layout)


@pytest.mark.parametrize(
    ("changes", "thumb", "words"),
    [
        ({}, "carries", "reaches no key"),
        (BASS, "tired", "own-keys: it is free"),
        ({**BASS, "layout_id": "bass-low-eb"}, "shares", "choose one of these"),
    ],
)
def test_what_makes_no_difference_is_refused(
    notebook: Notebook, changes: dict[str, str], thumb: str, words: str
) -> None:
    with pytest.raises(FieldRefused, match=words) as refused:
        add_clarinet(notebook, "Another", right_thumb=thumb, **changes)
    assert refused.value.field == "right_thumb"


def test_what_is_logged_stays_in_sight_and_can_be_changed(notebook: Notebook, bass: int) -> None:
    number = log(notebook, bass, "C3", LOW_C, layout_id="bass-low-c")
    ease = open_fingering(notebook, number).fingering.ease
    say(notebook, bass, "carries")
    kept = open_fingering(notebook, number).fingering
    assert (kept.keys_text, ease, kept.ease) == (LOW_C, 1.0, 0.0)
    assert open_entry(notebook, number).page.fingering.id == number
    query = SearchQuery(instrument_id=bass, text="C3")
    assert [hit.fingering.id for hit in search_target(notebook, query, names=ENGLISH).hits] == [
        number
    ]
    assert cover_instrument(notebook, open_instrument(notebook, bass))
    keys = parse_fingering(LOW_C, open_instrument(notebook, bass).layout)
    assert find_conflicts(keys)
    note = FingeringDraft(keys=keys, target="C3", strategy=draft().strategy, notes="with a strap")
    change_fingering(notebook, number, note, seen_version=kept.version, names=ENGLISH)
    assert open_fingering(notebook, number).fingering.notes == "with a strap"
    with pytest.raises(FieldRefused, match="The right thumb carries the instrument"):
        log_fingering(notebook, bass, note, names=ENGLISH)
    say(notebook, bass, "free", seen=2)
    assert open_fingering(notebook, number).fingering.ease == 1.0


def test_a_word_that_is_not_known_is_named(notebook: Notebook, bass: int) -> None:
    with notebook.database.writing() as session:
        session.execute(text("UPDATE instrument SET right_thumb = 'tired'"))
    with pytest.raises(Exception, match="what the right thumb does: 'tired' is not known"):
        _ = open_instrument(notebook, bass).layout
