"""Instruments. Transpositions are common practice, from memory: B flat sounds 200 cents lower than
written, A 300 cents lower."""

import pytest

from tests.webapp.logging_rows import TakeMaker, add_clarinet, clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.instruments.instruments import (
    add_instrument,
    change_instrument,
    choose_instruments,
    list_instruments,
    open_instrument,
)
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, StaleEdit
from webapp.notebook.store.notebook import Notebook


def test_an_instrument_keeps_what_was_said_of_it(notebook: Notebook) -> None:
    wanted = clarinet(
        "  Invented ", tuning_a_hz=442.5, mouthpiece=" open ", reed="3½", barrel="64 mm", notes="n"
    )
    instrument = open_instrument(notebook, add_instrument(notebook, wanted))
    assert instrument.name == "Invented"
    assert instrument.tuning.a4_hz == 442.5
    assert instrument.transposition_cents == -200
    assert instrument.layout.id == "soprano-17-6"
    assert instrument.setup_lines == ("Mouthpiece: open", "Reed: 3½", "Barrel: 64 mm")
    assert instrument.version == 1


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"kind_id": "saxophone"}, "model", "not known"),
        ({"layout_id": "kazoo"}, "model", "kazoo"),
        ({"layout_id": "bass-low-c"}, "model", "does not fit a B-flat soprano"),
        ({"tuning_a_hz": 389.9}, "tuning_a_hz", "390"),
        ({"tuning_a_hz": 470.1}, "tuning_a_hz", "470"),
        ({"tuning_a_hz": 0.0}, "tuning_a_hz", "390"),
        ({"name": "   "}, "name", "needs a name"),
    ],
)
def test_what_cannot_be_kept_names_its_field(
    notebook: Notebook, changes: dict[str, object], field: str, words: str
) -> None:
    name = str(changes.pop("name", "Invented"))
    with pytest.raises(FieldRefused, match=words) as caught:
        add_instrument(notebook, clarinet(name, **changes))
    assert caught.value.field == field
    assert list_instruments(notebook) == ()


@pytest.mark.parametrize("tuning_a_hz", [390.0, 470.0])
def test_the_ends_of_the_tuning_range_belong_to_it(notebook: Notebook, tuning_a_hz: float) -> None:
    add_clarinet(notebook, tuning_a_hz=tuning_a_hz)


def test_the_list_counts_fingerings_and_those_that_are_measured(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    first, second = add_clarinet(notebook, "one"), add_clarinet(notebook, "two")
    measured = log(notebook, first, "D5 -50", "T R 123 | 12-")
    log(notebook, first, "D5 -50", "T R 123 | 1--")
    put_in_bin(notebook, "fingering", log(notebook, first, "D5 -50", "T R 123 | ---"))
    take_maker(notebook, measured, 500.0)
    summaries = list_instruments(notebook)
    assert [each.instrument.id for each in summaries] == [first, second]
    assert [(each.fingering_count, each.measured_count) for each in summaries] == [(2, 1), (0, 0)]
    assert [each.id for each in choose_instruments(notebook)] == [first, second]


def test_a_binned_instrument_is_not_listed(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    put_in_bin(notebook, "instrument", instrument)
    assert list_instruments(notebook) == ()
    assert choose_instruments(notebook) == ()
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        open_instrument(notebook, instrument)


def test_another_kind_moves_what_the_fingerings_sound(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    unmeasured = log(notebook, instrument, "A4", "--- | --- | throat A")
    measured = log(notebook, instrument, "A4", "--- | --- | throat A")
    for _ in range(3):  # three that agree count wherever they sound
        take_maker(notebook, measured, 440 * 2 ** (-190 / 1200))  # 10 above written A4 on B flat
    assert open_fingering(notebook, measured).fingering.offset_cents == pytest.approx(10)
    change_instrument(notebook, instrument, clarinet(kind_id="a-soprano"), seen_version=1)
    moved = open_fingering(notebook, unmeasured).fingering
    assert (moved.written_cents, moved.target_cents, moved.sounding_cents) == (6900, 6600, 6600)
    # The same sound is 110 cents above written A4 on an A clarinet.
    row = open_fingering(notebook, measured).fingering
    assert row.offset_cents == pytest.approx(110)
    assert row.sounding_cents == pytest.approx(6710)


def test_another_layout_is_refused_once_fingerings_are_logged(notebook: Notebook) -> None:
    bass = add_clarinet(notebook, kind_id="b-flat-bass", layout_id="bass-low-eb")
    changed = clarinet(kind_id="b-flat-bass", layout_id="bass-low-c")
    change_instrument(notebook, bass, changed, seen_version=1)
    log(notebook, bass, "D5 -50", "T R 123 | 12-", layout_id="bass-low-c")
    back = clarinet(kind_id="b-flat-bass", layout_id="bass-low-eb")
    with pytest.raises(FieldRefused, match=r"1 fingerings .* Another layout needs") as caught:
        change_instrument(notebook, bass, back, seen_version=2)
    assert caught.value.field == "model"
    assert open_instrument(notebook, bass).layout_id == "bass-low-c"


def test_another_clef_is_refused_once_fingerings_are_logged(notebook: Notebook) -> None:
    # The bass-clef notation writes an octave lower (common practice, from memory).
    bass = {"kind_id": "b-flat-bass", "layout_id": "bass-low-c"}
    number = add_clarinet(notebook, **bass)
    in_bass_clef = clarinet("Invented", **{**bass, "kind_id": "b-flat-bass-bass-clef"})
    change_instrument(notebook, number, in_bass_clef, seen_version=1)
    change_instrument(notebook, number, clarinet("Invented", **bass), seen_version=2)
    log(notebook, number, "D4 -50", "T 123 | 12-")
    with pytest.raises(FieldRefused, match="another clef") as caught:
        change_instrument(notebook, number, in_bass_clef, seen_version=3)
    assert caught.value.field == "model"


def test_a_stale_edit_is_refused_and_overwrites_nothing(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    change_instrument(notebook, instrument, clarinet("newer"), seen_version=1)
    with pytest.raises(StaleEdit, match="nothing was overwritten"):
        change_instrument(notebook, instrument, clarinet("older"), seen_version=1)
    kept = open_instrument(notebook, instrument)
    assert (kept.name, kept.version) == ("newer", 2)


def test_a_refused_edit_counts_as_none(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    with pytest.raises(FieldRefused):
        change_instrument(notebook, instrument, clarinet(" "), seen_version=1)
    assert open_instrument(notebook, instrument).version == 1


def test_listing_takes_as_many_queries_for_many_fingerings(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    with counted_queries(notebook) as few:
        list_instruments(notebook)
    for _ in range(10):
        log(notebook, instrument, "D5 -50", "T R 123 | 12-")
    with counted_queries(notebook) as many:
        list_instruments(notebook)
    assert len(many) == len(few) <= 3
