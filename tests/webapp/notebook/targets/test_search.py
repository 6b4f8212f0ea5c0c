"""Search. Distances by closed formula: 1200 log2 of the frequency ratio.

Which stands before which follows from the rules of the judge (`standing`, `merit`): in tune within
10 cents, near from 10 flat to 25 sharp, and only what is measured has an offset.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

import pytest

from analysis.finder import Strategy
from analysis.pitch import NoteNames, Register
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.targets.search import Hit, SearchQuery, SearchResult, search_target

KEYS = "T R 123 | 12-"
HALF = "T R 1(2)3 | 12-"
TARGET_CENTS = 7150.0  # D5 -50 as a B-flat soprano sounds it: a whole tone lower than written


def find(notebook: Notebook, text: str = "", **query: Any) -> SearchResult:
    """Search with English names."""
    wanted = SearchQuery(text=text, **query)
    return search_target(notebook, wanted, names=ENGLISH)


def ids(result: SearchResult) -> list[int]:
    """The numbers of the hits in their order."""
    return [hit.fingering.id for hit in result.hits]


def meant(hits: Iterable[Hit]) -> list[float]:
    """How far what was found is known, or meant, to sound from what was asked for, in cents."""
    cents = [(hit.fingering.sounding_cents, hit.judged) for hit in hits]
    return [sounds - TARGET_CENTS for sounds, judged in cents if judged is not None]


def sounding_hz(cents_above_a4: float) -> float:
    """A frequency at A = 440."""
    return float(440 * 2 ** (cents_above_a4 / 1200))


def test_the_nearest_come_first_and_measured_ones_say_how_far_off_they_are(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    far = log(notebook, soprano, "D5 -70", KEYS)
    near = log(notebook, soprano, "D5 -49", KEYS)
    outside = log(notebook, soprano, "D5 -20", KEYS)
    result = find(notebook, "D5 -50", instrument_id=soprano)
    assert ids(result) == [near, far]
    assert outside not in ids(result)
    assert [hit.distance_cents for hit in result.hits] == [None, None], "nothing is measured"
    assert meant(result.hits) == [1.0, -20.0]
    assert result.hit_count == 2
    assert result.nearest_below == result.nearest_above == ()
    take_maker(notebook, far, sounding_hz(250 - 20))
    take_maker(notebook, near, sounding_hz(250 + 1))
    result = find(notebook, "D5 -50", instrument_id=soprano)
    assert ids(result) == [near, far]
    assert [hit.distance_cents for hit in result.hits] == pytest.approx([1.0, -20.0])


def test_the_order_is_in_tune_near_and_not_tried_and_whole_and_free_among_equals(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    silent = log(notebook, soprano, "D5 -50", KEYS, does_not_speak=True)
    half = log(notebook, soprano, "D5 -50", HALF)
    stuffy = log(notebook, soprano, "D5 -50", KEYS, resistance=5)
    unjudged = log(notebook, soprano, "D5 -50", KEYS)
    free = log(notebook, soprano, "D5 -50", KEYS, resistance=1)
    measured = log(notebook, soprano, "D5 -50", KEYS, resistance=5)
    take_maker(notebook, measured, sounding_hz(250 + 4))
    sharp = log(notebook, soprano, "D5 -50", KEYS, resistance=1)
    take_maker(notebook, sharp, sounding_hz(250 + 20))
    aside = log(notebook, soprano, "D5 -44", KEYS, resistance=1)
    far = log(notebook, soprano, "D5 -38", KEYS, resistance=1)
    result = find(notebook, "D5 -50", instrument_id=soprano)
    assert ids(result) == [measured, sharp, free, aside, unjudged, stuffy, half, far]
    assert [hit.fingering.id for hit in result.silent] == [silent], "listed apart, and no hit"
    assert result.hit_count == 8


def test_a_measured_fingering_is_found_where_it_sounds_not_where_it_was_meant(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, soprano, "D5 -50", KEYS)
    for _ in range(3):  # three that agree count wherever they sound
        take_maker(notebook, fingering, sounding_hz(250 - 80))
    result = find(notebook, "D5 -50", instrument_id=soprano)
    assert ids(result) == []
    (history,) = result.history
    assert (history.fingering.id, str(history.sounds_as)) == (fingering, "C quarter-sharp 5 +20")
    (hit,) = find(notebook, "C#5 -30", instrument_id=soprano).hits
    assert hit.distance_cents == pytest.approx(0.0, abs=1e-6)


def test_nothing_yet_shows_the_nearest_within_three_quarter_tones_on_both_sides(
    notebook: Notebook, soprano: int
) -> None:
    names = ("D5", "E5", "F5", "G5", "G5 +10", "A5")
    numbers = {name: log(notebook, soprano, name, KEYS) for name in names}
    result = find(notebook, "F5 +50", instrument_id=soprano, within_cents=20.0)
    assert result.hits == ()
    assert result.target is not None
    target = result.target.sounding.cents
    below = [hit.fingering.id for hit in result.nearest_below]
    assert below == [numbers["F5"], numbers["E5"]]
    assert [hit.fingering.sounding_cents - target for hit in result.nearest_below] == [-50, -150]
    assert {hit.distance_cents for hit in result.nearest} == {None}, "nothing is measured"
    assert [hit.fingering.id for hit in result.nearest_above] == [numbers["G5"]]


def test_what_is_an_octave_away_is_not_near(notebook: Notebook, soprano: int) -> None:
    for name in ("F4", "F6"):
        log(notebook, soprano, name, KEYS)
    result = find(notebook, "F5", instrument_id=soprano)
    assert result.hits == result.nearest_below == result.nearest_above == ()


def test_the_neighbours_that_could_be_raised_or_lowered_are_named(
    notebook: Notebook, soprano: int
) -> None:
    result = find(notebook, "D5 -50", instrument_id=soprano)
    assert result.neighbour_below is not None
    assert result.neighbour_above is not None
    assert result.neighbour_below.written.canonical == "C#5"
    assert result.neighbour_above.written.canonical == "D5"


def test_a_frequency_is_heard_at_the_tuning_of_the_instrument(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook, tuning_a_hz=442.0)
    fingering = log(notebook, instrument, "B4", KEYS)  # sounds A4
    result = find(notebook, "442 Hz", instrument_id=instrument, within_cents=1.0)
    assert ids(result) == [fingering]
    assert result.target is not None
    assert result.target.is_frequency
    assert result.target.written.canonical == "B4"


def test_across_instruments_the_text_is_what_sounds(notebook: Notebook, soprano: int) -> None:
    # Concert B flat 4: written C5 on B flat, D flat 5 on A, E flat 5 on a basset horn in F an
    # octave lower is another note. Transpositions are common practice, from memory.
    on_a = add_clarinet(notebook, "A", kind_id="a-soprano")
    hits = {log(notebook, soprano, "C5", KEYS), log(notebook, on_a, "Db5", KEYS)}
    log(notebook, soprano, "Bb4", KEYS)
    result = find(notebook, "Bb4")
    assert set(ids(result)) == hits
    assert result.instrument is None
    assert result.neighbour_below is result.neighbour_above is None
    assert {hit.fingering.instrument.name for hit in result.hits} == {"B-flat", "A"}


@pytest.mark.parametrize(
    ("text", "finds"), [("50 cents above C#5", True), ("5:4 above F4", False), ("D5-50c", True)]
)
def test_intervals_are_searched_like_notes(
    notebook: Notebook, soprano: int, text: str, finds: bool
) -> None:
    log(notebook, soprano, "D5 -50", KEYS)
    assert bool(find(notebook, text, instrument_id=soprano).hits) is finds


def test_note_names_are_the_players(notebook: Notebook, soprano: int) -> None:
    log(notebook, soprano, "Bb4", KEYS)
    query = SearchQuery(text="B4", instrument_id=soprano)
    assert search_target(notebook, query, names=NoteNames.GERMAN).hit_count == 1
    assert search_target(notebook, query, names=ENGLISH).hit_count == 0


def test_filters_narrow_the_hits(notebook: Notebook, soprano: int, take_maker: TakeMaker) -> None:
    plain = log(notebook, soprano, "D5 -50", KEYS, strategy=Strategy.RAISED, resistance=2)
    half = log(notebook, soprano, "D5 -50", HALF, strategy=Strategy.LOWERED, resistance=4)
    unjudged = log(notebook, soprano, "D5 -50", KEYS)
    low = log(notebook, soprano, "G3 +50", KEYS)
    take_maker(notebook, half, sounding_hz(250))

    def kept(**filters: object) -> set[int]:
        return set(ids(find(notebook, "", instrument_id=soprano, **filters)))

    assert kept() == {plain, half, unjudged, low}
    assert kept(strategy=Strategy.RAISED) == {plain}
    assert kept(highest_resistance=2) == {plain}
    assert kept(highest_resistance=4) == {plain, half}
    assert kept(is_without_half_holes=True) == {plain, unjudged, low}
    assert kept(is_measured_only=True) == {half}
    assert kept(register=Register.CHALUMEAU) == {low}
    assert kept(register=Register.CLARION, is_measured_only=True) == {half}


def test_a_register_means_the_same_fingerings_in_bass_clef(notebook: Notebook) -> None:
    # Bass clef is written an octave lower: written G2 is the G3 of treble clef, chalumeau.
    bass = add_clarinet(notebook, kind_id="b-flat-bass-bass-clef", layout_id="bass-low-eb")
    low = log(notebook, bass, "G2 +50", KEYS, layout_id="bass-low-eb")
    high = log(notebook, bass, "G4 +50", KEYS, layout_id="bass-low-eb")
    for where in (bass, None):
        assert ids(find(notebook, instrument_id=where, register=Register.CHALUMEAU)) == [low]
        assert ids(find(notebook, instrument_id=where, register=Register.CLARION)) == [high]


def test_without_a_text_everything_is_listed_from_low_to_high(
    notebook: Notebook, soprano: int
) -> None:
    high = log(notebook, soprano, "D6 -50", KEYS)
    low = log(notebook, soprano, "D4 -50", KEYS)
    for text in ("", "   "):
        result = find(notebook, text, instrument_id=soprano)
        assert ids(result) == [low, high]
        assert result.target is None
        assert result.hits[0].distance_cents is None


def test_what_lies_in_the_bin_is_not_found(notebook: Notebook, soprano: int) -> None:
    put_in_bin(notebook, "fingering", log(notebook, soprano, "D5 -50", KEYS))
    sold = add_clarinet(notebook, "sold")
    log(notebook, sold, "D5 -50", KEYS)
    put_in_bin(notebook, "instrument", sold)
    result = find(notebook, "C5 -50")
    assert result.hit_count == 0
    assert result.nearest_below == result.nearest_above == ()
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        find(notebook, "D5 -50", instrument_id=sold)


@pytest.mark.parametrize("text", ["nonsense", "D", "D5 -", "999999 Hz"])
def test_what_cannot_be_read_is_said_and_never_no_result(
    notebook: Notebook, soprano: int, text: str
) -> None:
    with pytest.raises(FieldRefused) as caught:
        find(notebook, text, instrument_id=soprano)
    assert caught.value.field == "q"


@pytest.mark.parametrize("within_cents", [0.0, -5.0, 200.1, float("nan")])
def test_a_width_out_of_range_is_refused(notebook: Notebook, within_cents: float) -> None:
    with pytest.raises(FieldRefused) as caught:
        find(notebook, "A4", within_cents=within_cents)
    assert caught.value.field == "within"


def test_the_tolerance_itself_belongs_to_the_range(notebook: Notebook, soprano: int) -> None:
    log(notebook, soprano, "D5 -25", KEYS)
    assert find(notebook, "D5", instrument_id=soprano, within_cents=25.0).hit_count == 1


def test_a_long_list_is_cut_and_says_how_long_it_is(notebook: Notebook, soprano: int) -> None:
    for _ in range(5):
        log(notebook, soprano, "D5 -50", KEYS)
    result = find(notebook, "D5 -50", instrument_id=soprano, hits_on_a_page=3)
    assert (len(result.hits), result.hit_count) == (3, 5)


@pytest.mark.parametrize("text", ["D5 -50", "E7", ""])
def test_searching_takes_as_many_queries_for_many_rows(
    notebook: Notebook, soprano: int, text: str, take_maker: TakeMaker
) -> None:
    first = log(notebook, soprano, "D5 -50", KEYS, tags=("one",))
    with counted_queries(notebook) as few:
        find(notebook, text, instrument_id=soprano)
    for number in range(12):
        log(notebook, soprano, f"D5 -{40 + number}", KEYS, tags=("a", "b"))
        take_maker(notebook, first, 500.0)
    with counted_queries(notebook) as many:
        result = find(notebook, text, instrument_id=soprano)
        assert [hit.fingering.tags for hit in result.hits] or text == "E7"
        assert [hit.fingering.key_states() for hit in result.hits] or text == "E7"
    assert len(many) == len(few)


def test_a_just_target_is_found_at_its_exact_place(notebook: Notebook, soprano: int) -> None:
    log(notebook, soprano, "5:4 above F4", KEYS)
    (hit,) = find(notebook, "A4 -13.686", instrument_id=soprano, within_cents=0.01).hits
    assert hit.fingering.written.cents == Fraction("6886.314")


@pytest.mark.parametrize("text", ["D5 -50", ""])
def test_a_long_list_is_turned_over_page_by_page(
    notebook: Notebook, soprano: int, text: str
) -> None:
    logged = [log(notebook, soprano, "D5 -50", KEYS) for _ in range(5)]
    pages = [
        find(notebook, text, instrument_id=soprano, page=page, hits_on_a_page=2)
        for page in (1, 2, 3, 4)
    ]
    assert [number for page in pages for number in ids(page)] == logged
    assert [page.has_more for page in pages] == [True, True, False, False]
    assert [page.before_count for page in pages] == [0, 2, 4, 6]
    assert {page.hit_count for page in pages} == {5}
