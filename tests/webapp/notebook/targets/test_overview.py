"""The start page's numbers, counted by hand."""

from datetime import UTC, datetime

import pytest

from analysis.pitch import Register
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Role
from webapp.notebook.targets.choices import WordDraft, say_word
from webapp.notebook.targets.overview import Coverage, Overview, cover_instrument, open_overview

KEYS = "T R 123 | 12-"


def coverage_of(notebook: Notebook, instrument: int) -> dict[Register, Coverage]:
    """Coverage by register."""
    rows = cover_instrument(notebook, open_instrument(notebook, instrument))
    return {row.register: row for row in rows}


def test_an_empty_notebook_has_nothing_to_show(notebook: Notebook) -> None:
    assert open_overview(notebook) == Overview((), Writing(), (), ())


def test_the_quarter_tones_between_the_semitones_are_counted(notebook: Notebook) -> None:
    rows = coverage_of(notebook, add_clarinet(notebook))
    assert list(rows) == [
        Register.CHALUMEAU, Register.THROAT, Register.CLARION, Register.ALTISSIMO,
    ]  # fmt: skip
    # E3 to G6 are 39 semitones, so 39 quarter tones lie between.
    assert sum(len(row.steps) for row in rows.values()) == 39
    for row in rows.values():
        assert row.missing == row.steps
        assert all(step.cents % 100 == 50 for step in row.steps)


def test_in_tune_near_not_tried_and_missing_are_told_apart(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    in_tune = log(notebook, instrument, "D5 -50", KEYS)
    # 440 * 2 ** (cents / 1200) Hz; D5 -50 sounds 250 cents above A4 on a B-flat soprano
    take_maker(notebook, in_tune, 440 * 2 ** ((250 + 9) / 1200))
    near = log(notebook, instrument, "F5 -50", KEYS)
    take_maker(notebook, near, 440 * 2 ** ((550 + 20) / 1200))
    far = log(notebook, instrument, "A5 -50", KEYS)
    take_maker(notebook, far, 440 * 2 ** ((950 - 20) / 1200))
    log(notebook, instrument, "D5 -50", "T R 123 | 1--")
    log(notebook, instrument, "E5 -50", KEYS)
    log(notebook, instrument, "F5 +50", KEYS, does_not_speak=True)
    put_in_bin(notebook, "fingering", log(notebook, instrument, "G5 +50", KEYS))
    log(notebook, instrument, "G5", KEYS)  # no quarter tone
    row = coverage_of(notebook, instrument)[Register.CLARION]
    assert [step.cents for step in row.in_tune] == [7350]
    assert [step.cents for step in row.near] == [7650]
    assert [step.cents for step in row.not_tried] == [7550]
    assert len(row.missing) == len(row.steps) - 3
    assert row.solved == row.in_tune, "near is not solved"
    say_word(notebook, near, WordDraft(Role.MINE))
    row = coverage_of(notebook, instrument)[Register.CLARION]
    assert [step.cents for step in row.solved] == [7350, 7650], "the player's own solves its note"
    assert [step.cents for step in row.near] == [7650]


def test_a_bass_in_bass_clef_covers_the_same_registers(notebook: Notebook) -> None:
    treble = add_clarinet(notebook, kind_id="b-flat-bass", layout_id="bass-low-eb")
    clef = add_clarinet(notebook, kind_id="b-flat-bass-bass-clef", layout_id="bass-low-eb")
    counts = [
        {register: len(row.steps) for register, row in coverage_of(notebook, each).items()}
        for each in (treble, clef)
    ]
    assert counts[0] == counts[1]
    steps = coverage_of(notebook, clef)[Register.CHALUMEAU].steps
    assert steps[0].cents == 3950, "the first quarter tone above E flat 2 (3900)"


def test_the_latest_and_the_waiting_are_listed_newest_first(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    first = log(notebook, instrument, "D5 -50", KEYS)
    silent = log(notebook, instrument, "E5 -50", KEYS, does_not_speak=True)
    measured = log(notebook, instrument, "F5 -50", KEYS)
    take_maker(notebook, measured, 440 * 2 ** (550 / 1200))  # as it was logged
    sent_late = datetime(2025, 3, 1, 9, 0, tzinfo=UTC)  # it waited in the browser
    take_maker(notebook, measured, 440 * 2 ** (550 / 1200), recorded_at=sent_late)
    overview = open_overview(notebook)
    assert [row.id for row in overview.latest] == [measured, silent, first]
    assert [row.id for row in overview.unmeasured] == [first]
    assert [take.fingering_id for take in overview.takes] == [measured, measured]
    assert overview.takes[-1].recorded_at == sent_late, "the last played stand first"


def test_a_binned_instrument_takes_its_fingerings_out_of_sight(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    log(notebook, instrument, "D5 -50", KEYS)
    put_in_bin(notebook, "instrument", instrument)
    assert open_overview(notebook) == Overview((), Writing(), (), ())


@pytest.mark.parametrize("count", [12])
def test_the_overview_takes_as_many_queries_for_many_fingerings(
    notebook: Notebook, count: int, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    open_overview(notebook)  # from now on only what was written is read again
    take_maker(notebook, log(notebook, instrument, "D5 -50", KEYS), 500.0)
    with counted_queries(notebook) as few:
        open_overview(notebook)
    for number in range(count):
        fingering = log(notebook, instrument, f"D5 -{number}", KEYS)
        take_maker(notebook, fingering, 500.0)
    with counted_queries(notebook) as many:
        overview = open_overview(notebook)
        assert [row.instrument.name for row in overview.latest]
        assert all(each.fingering and each.fingering.instrument.name for each in overview.takes)
        assert [take.measurement.f0_hz for take in overview.takes]
    assert len(many) == len(few)
