"""Evidence for the finder, and the fingerings that a player can start from."""

from sqlalchemy import update

from analysis.day import WARMING_CENTS_PER_C
from analysis.pitch import WrittenPitch
from tests.webapp.finder_fakes import E5, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import SOPRANO, TakeMaker, add_clarinet, log
from webapp.notebook.finder.finder_evidence import Evidence, collect_evidence, has_model, model_of
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.practice.practice import PracticeDraft, end_practice, start_practice
from webapp.notebook.practice.tuning_notes import choose_tuning_take
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Ready, ResultCache
from webapp.notebook.store.rows import Fingering, Instrument

B4 = "T R 123 | 123 | right E"
# E5 sounds a whole tone lower on a B-flat soprano: 500 cents above A4 (closed formula).
E5_HZ = 440 * 2 ** (500 / 1200)


def collect(notebook: Notebook, instrument: int) -> Evidence:
    """Gather the evidence of an instrument."""
    with notebook.database.reading() as session:
        row = session.get(Instrument, instrument)
        assert row is not None
        return collect_evidence(session, row)


def test_a_fingering_counts_as_soon_as_it_is_measured(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    entry = log(notebook, instrument, "E5 +30", RAISED_E5)
    before = collect(notebook, instrument)
    assert before.logs == ()
    assert entry not in {start.logged_id for start in before.starts}
    take_maker(notebook, entry, E5_HZ * 2 ** (35 / 1200), uncertainty_cents=0.0)
    after = collect(notebook, instrument)
    (logged,) = after.logs
    assert round(logged.offset_cents or 0.0, 6) == 5.0
    assert logged.sigma_cents > 0  # a figure without uncertainty would count for everything
    (start,) = (start for start in after.starts if start.logged_id == entry)
    assert after.reference_of(start) == f"logged:{entry}"


def test_a_measured_ordinary_fingering_is_one_starting_point_with_its_offset(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    entry = log(notebook, instrument, "E5", E5)
    take_maker(notebook, entry, E5_HZ)
    found = collect(notebook, instrument)
    e5 = WrittenPitch.from_canonical("E5")
    starts = [start for start in found.starts if start.written == e5 and start.label == "ordinary"]
    assert [start.logged_id for start in starts if start.logged_id] == [entry]
    assert found.reference_of(starts[0]) == "ordinary:E5:1"


def test_keys_that_cannot_be_read_count_for_nothing(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    entry = log(notebook, instrument, "E5", E5)
    take_maker(notebook, entry, E5_HZ)
    with notebook.database.writing() as session:
        session.execute(update(Fingering).values(keys_text="keys of another layout"))
    assert collect(notebook, instrument).logs == ()


def test_a_bass_in_the_bass_clef_starts_from_notes_as_its_parts_are_written(
    notebook: Notebook,
) -> None:
    number = add_clarinet(notebook, kind_id="b-flat-bass-bass-clef", layout_id="bass-low-eb")
    lowest = min(start.written.cents for start in collect(notebook, number).starts)
    treble = add_clarinet(notebook, layout_id=SOPRANO)
    assert lowest < min(start.written.cents for start in collect(notebook, treble).starts) - 1200


def test_a_model_is_there_once_it_was_asked_for(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    result_cache, instrument = ResultCache(), open_instrument(notebook, add_clarinet(notebook))
    evidence = collect(notebook, instrument.id)
    assert not has_model(result_cache, instrument, evidence)
    outcome = model_of(notebook, result_cache, instrument, evidence, patience_s=10)
    assert isinstance(outcome, Ready)
    assert has_model(result_cache, instrument, evidence)
    assert len(fake_finder.fits) == 1


def test_the_air_that_takes_were_played_in_goes_with_them(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    entry = log(notebook, instrument, "E5", E5)
    take_maker(notebook, entry, E5_HZ, air_temperature_c=18.0)
    take_maker(notebook, entry, E5_HZ, air_temperature_c=20.0)
    take_maker(notebook, entry, E5_HZ)
    other = log(notebook, instrument, "E5 +30", RAISED_E5)
    take_maker(notebook, other, E5_HZ)
    found = collect(notebook, instrument)
    assert [one.air_c for one in found.logs] == [19.0, None]
    assert found.air_c is None


def test_takes_whose_day_is_taken_out_already_have_no_air_of_their_own(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    entry, b4 = (log(notebook, instrument, *each) for each in (("E5", E5), ("B4", B4)))
    practice = start_practice(notebook, instrument, PracticeDraft(air_temperature_c=26.0))
    take_maker(notebook, entry, E5_HZ)
    assert [one.air_c for one in collect(notebook, instrument).logs] == [26.0]
    choose_tuning_take(notebook, practice, take_maker(notebook, b4, 440.0))
    assert [one.air_c for one in collect(notebook, instrument).logs] == [None, None]


def test_the_model_is_told_how_far_a_warmer_room_raises_the_instrument(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    assert collect(notebook, instrument).warming_cents_per_c == WARMING_CENTS_PER_C
    b4 = log(notebook, instrument, "B4", B4)
    for air_c, cents in ((10.0, -15.0), (30.0, 45.0)):
        practice = start_practice(notebook, instrument, PracticeDraft(air_temperature_c=air_c))
        take = take_maker(notebook, b4, 440.0 * 2 ** (cents / 1200))
        choose_tuning_take(notebook, practice, take)
        end_practice(notebook, practice)
    # 3 cents a degree, against the prior of 1.5
    assert 2.5 < collect(notebook, instrument).warming_cents_per_c < 3.0


def test_todays_air_is_that_of_the_open_practice_and_asks_for_a_new_model(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    del fake_finder
    instrument = add_clarinet(notebook)
    result_cache = ResultCache()
    row = open_instrument(notebook, instrument)
    before = collect(notebook, instrument)
    assert isinstance(model_of(notebook, result_cache, row, before), Ready)
    practice = start_practice(notebook, instrument, PracticeDraft(air_temperature_c=24.0))
    during = collect(notebook, instrument)
    assert during.air_c == 24.0
    assert has_model(result_cache, row, before)
    assert not has_model(result_cache, row, during)
    end_practice(notebook, practice)
    assert collect(notebook, instrument).air_c is None
