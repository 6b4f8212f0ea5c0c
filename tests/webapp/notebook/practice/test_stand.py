"""What lies on the stand: the right frequency, the right fingerings, in the right order."""

import pytest

from analysis.finder import Strategy
from analysis.pitch import NoteNames
from tests.webapp.finder_fakes import OTHER, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.playing import sounding_hz
from tests.webapp.snapshots import counted_queries
from webapp.notebook.finder.tries import SuggestionNote, settle_try, take_up
from webapp.notebook.finder.trying import log_try
from webapp.notebook.practice.practice import (
    PracticeDraft,
    change_practice,
    end_practice,
    start_practice,
)
from webapp.notebook.practice.practice_targets import add_tries, add_typed, add_unmeasured
from webapp.notebook.practice.stand import (
    LOGGED_SHOWN,
    REACH_CENTS,
    TRIES_SHOWN,
    open_fingering_stand,
    open_stand,
    open_target_stand,
)
from webapp.notebook.practice.stand_items import StandItem
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import Role, TryState
from webapp.notebook.targets.choices import WordDraft, say_word
from webapp.notebook.targets.search import SearchQuery, search_target
from webapp.notebook.targets.standing import Standing

ENGLISH = NoteNames.ENGLISH
D5_QUARTER_FLAT = 7350.0
SOME_KEYS = (
    "T R 123 | 12-",
    "T R 123 | 1--",
    "T R 123 | 1-- | right F#",
    "T R 12- | 123",
    "T R 12- | 12-",
    "T R 1-3 | 12-",
    "T R 1-3 | 1--",
    "T R 1(2)3 | 12-",
)


def only_item(notebook: Notebook, clarinet: int, text: str) -> StandItem:
    (item,) = open_target_stand(notebook, clarinet, text).items
    return item


def keys_of(item: StandItem) -> list[str]:
    return [row.keys_text for each in item.candidates if (row := each.fingering or each.suggestion)]


def test_the_frequency_is_that_of_the_instrument_at_the_tuning_of_the_session(
    notebook: Notebook, clarinet: int
) -> None:
    # D5 a quarter tone flat on a B-flat soprano (equal temperament, closed formula)
    item = only_item(notebook, clarinet, "D5 -50")
    assert item.target_hz == pytest.approx(sounding_hz(D5_QUARTER_FLAT))
    practice = start_practice(notebook, clarinet, PracticeDraft(442.0))
    add_typed(notebook, practice, "D5 -50", names=ENGLISH)
    (item,) = open_stand(notebook, practice).items
    assert item.target_hz == pytest.approx(sounding_hz(D5_QUARTER_FLAT, a4_hz=442.0))
    change_practice(notebook, practice, tuning_a_hz=438.0, air_temperature_c=None)
    assert only_item(notebook, clarinet, "D5 -50").target_hz == pytest.approx(
        sounding_hz(D5_QUARTER_FLAT, a4_hz=438.0)
    )


def test_fingerings_come_as_a_search_sorts_them(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    offsets = (3.0, -2.0, None, 9.0, -14.0, 24.0)
    for number, (keys, offset) in enumerate(zip(SOME_KEYS, offsets, strict=False)):
        resistance = None if number == 1 else 1 + number % 5
        row = log(notebook, clarinet, "D5 -50", keys, resistance=resistance)
        if offset is not None:
            for _ in range(number % 3 + 1):
                take_maker(notebook, row, sounding_hz(D5_QUARTER_FLAT + offset))
    query = SearchQuery("D5 -50", clarinet, within_cents=REACH_CENTS)
    found = search_target(notebook, query, names=ENGLISH)
    expected = [hit.fingering.keys_text for hit in found.hits]
    assert len(expected) == 6
    assert keys_of(only_item(notebook, clarinet, "D5 -50")) == expected


def test_only_the_best_few_are_shown_and_half_holes_come_last(
    notebook: Notebook, clarinet: int
) -> None:
    log(notebook, clarinet, "D5 -50", "T R 1(2)3 | 12-")
    for keys in SOME_KEYS[:5]:
        log(notebook, clarinet, "D5 -50", keys)
    assert keys_of(only_item(notebook, clarinet, "D5 -50"))[-1] == "T R 1(2)3 | 12-"
    for keys in SOME_KEYS[5:7]:
        log(notebook, clarinet, "D5 -50", keys)
    shown = keys_of(only_item(notebook, clarinet, "D5 -50"))
    assert len(shown) == LOGGED_SHOWN
    assert "T R 1(2)3 | 12-" not in shown


def test_one_logged_for_a_note_nearby_is_shown_with_how_far_its_own_target_lies(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    near = log(notebook, clarinet, "C#5 +40", SOME_KEYS[0])
    take_maker(notebook, near, sounding_hz(7340 + 15))
    (candidate,) = only_item(notebook, clarinet, "D5 -50").candidates
    assert candidate.shift_cents == pytest.approx(-10.0)
    # it sounds 15 cents above its own target, so 5 above this one
    assert candidate.distance_cents == pytest.approx(5.0)


def test_what_is_far_silent_in_the_bin_or_elsewhere_is_not_on_the_stand(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    moved = log(notebook, clarinet, "D5 -50", SOME_KEYS[0])
    take_maker(notebook, moved, sounding_hz(D5_QUARTER_FLAT + 40))
    log(notebook, clarinet, "D5 -50", SOME_KEYS[1], does_not_speak=True)
    put_in_bin(notebook, "fingering", log(notebook, clarinet, "D5 -50", SOME_KEYS[2]))
    log(notebook, add_clarinet(notebook, "Another"), "D5 -50", SOME_KEYS[3])
    item = only_item(notebook, clarinet, "D5 -50")
    assert item.candidates == ()
    # the ordinary notes beside it: C#5 and D5
    assert [each.written.canonical for each in item.neighbours] == ["C#5", "D5"]


def test_what_a_target_is_on_the_list_for_comes_first(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    good = log(notebook, clarinet, "D5 -50", SOME_KEYS[0])
    take_maker(notebook, good, sounding_hz(D5_QUARTER_FLAT))
    log(notebook, clarinet, "D5 -50", SOME_KEYS[1], resistance=5)
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_unmeasured(notebook, practice)
    (item,) = open_stand(notebook, practice).items
    assert keys_of(item) == [SOME_KEYS[1], SOME_KEYS[0]]
    assert keys_of(only_item(notebook, clarinet, "D5 -50")) == [SOME_KEYS[0], SOME_KEYS[1]]


def test_a_fingering_by_itself_is_shown_even_if_it_does_not_speak(
    notebook: Notebook, clarinet: int
) -> None:
    silent = log(notebook, clarinet, "D5 -50", SOME_KEYS[1], does_not_speak=True)
    log(notebook, clarinet, "D5 -50", SOME_KEYS[0])
    page = open_fingering_stand(notebook, silent)
    assert keys_of(page.items[0]) == [SOME_KEYS[1], SOME_KEYS[0]]
    assert page.items[0].row is None
    assert page.practice is None


@pytest.fixture
def tries(notebook: Notebook, clarinet: int, fake_finder: FakeFinder) -> list[int]:
    del fake_finder
    return [
        take_up(
            notebook, ResultCache(), clarinet, SuggestionNote("D5-50c", keys, "", Strategy.RAISED)
        )
        for keys in (RAISED_E5, OTHER)
    ]


def test_tries_come_last_as_predictions_until_they_are_logged(
    notebook: Notebook, clarinet: int, tries: list[int]
) -> None:
    log(notebook, clarinet, "D5 -50", SOME_KEYS[0])
    item = only_item(notebook, clarinet, "D5 -50")
    assert keys_of(item) == [SOME_KEYS[0], RAISED_E5, OTHER]
    assert [each.is_prediction for each in item.candidates] == [False, True, True]
    assert item.candidates[1].distance_cents == -7.0  # as the fake predicts
    log_try(notebook, tries[0])
    settle_try(notebook, tries[1], TryState.DISMISSED)
    item = only_item(notebook, clarinet, "D5 -50")
    assert set(keys_of(item)) == {SOME_KEYS[0], RAISED_E5}
    assert not any(each.is_prediction for each in item.candidates)


def test_a_try_on_the_list_comes_first_and_stays_so_when_it_is_logged(
    notebook: Notebook, clarinet: int, tries: list[int], take_maker: TakeMaker
) -> None:
    good = log(notebook, clarinet, "D5 -50", SOME_KEYS[0])
    take_maker(notebook, good, sounding_hz(D5_QUARTER_FLAT))
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_tries(notebook, practice)
    second = open_stand(notebook, practice).items[1]
    assert keys_of(second)[0] == OTHER
    log_try(notebook, tries[1])
    second = open_stand(notebook, practice).items[1]
    assert keys_of(second)[0] == OTHER
    assert not second.candidates[0].is_prediction


def test_a_try_on_the_list_is_shown_however_many_wait_before_it(
    notebook: Notebook, clarinet: int, fake_finder: FakeFinder
) -> None:
    del fake_finder
    for keys in SOME_KEYS:
        take_up(
            notebook, ResultCache(), clarinet, SuggestionNote("D5-50c", keys, "", Strategy.RAISED)
        )
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_tries(notebook, practice)
    last = open_stand(notebook, practice).items[-1]
    assert len(last.candidates) == TRIES_SHOWN < len(SOME_KEYS)
    assert keys_of(last)[0] == SOME_KEYS[-1]


def test_the_number_of_queries_does_not_grow_with_targets_and_fingerings(
    notebook: Notebook, clarinet: int, tries: list[int]
) -> None:
    del tries
    practice = start_practice(notebook, clarinet, PracticeDraft())
    counts = []
    for target in ("D5 -50", "E5 -50", "F5 +50"):
        for keys in SOME_KEYS[:3]:
            log(notebook, clarinet, target, keys)
        add_typed(notebook, practice, target, names=ENGLISH)
        with counted_queries(notebook) as statements:
            page = open_stand(notebook, practice)
            assert all(each.keys for item in page.items for each in item.candidates)
        counts.append(len(statements))
    assert len(set(counts)) == 1


def test_nothing_typed_leaves_the_stand_empty_and_nonsense_is_refused(
    notebook: Notebook, clarinet: int
) -> None:
    assert open_target_stand(notebook, clarinet, " ").items == ()
    with pytest.raises(FieldRefused) as refused:
        open_target_stand(notebook, clarinet, "spoon")
    assert refused.value.field == "q"


def test_a_session_that_is_over_is_shown_as_such(notebook: Notebook, clarinet: int) -> None:
    practice = start_practice(notebook, clarinet, PracticeDraft())
    add_typed(notebook, practice, "D5", names=ENGLISH)
    assert open_stand(notebook, practice).is_open
    end_practice(notebook, practice)
    page = open_stand(notebook, practice)
    assert not page.is_open
    assert len(page.items) == 1


def test_what_is_not_there_is_said(notebook: Notebook, clarinet: int) -> None:
    with pytest.raises(NotInNotebook):
        open_stand(notebook, 99)
    with pytest.raises(NotInNotebook):
        open_fingering_stand(notebook, 99)
    with pytest.raises(NotInNotebook):
        open_target_stand(notebook, 99, "D5")


def test_the_range_to_listen_in_holds_the_instrument(notebook: Notebook, clarinet: int) -> None:
    low_hz, high_hz = open_target_stand(notebook, clarinet, "").range_hz
    # E3 to C7 written, two semitones lower sounding (common practice, from memory)
    assert low_hz < sounding_hz(5200) < sounding_hz(9600) < high_hz


def test_the_first_says_why_it_is_first_and_a_pinned_one_how_it_stands(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    in_tune = log(notebook, clarinet, "D5 -50", SOME_KEYS[0])
    far = log(notebook, clarinet, "D5 -50", SOME_KEYS[1])
    take_maker(notebook, in_tune, sounding_hz(D5_QUARTER_FLAT + 2))
    take_maker(notebook, far, sounding_hz(D5_QUARTER_FLAT - 60))
    item = only_item(notebook, clarinet, "D5 -50")
    assert item.reason == "the only one in tune"
    assert keys_of(item) == [SOME_KEYS[0]]
    (pinned,) = open_fingering_stand(notebook, far).items
    assert keys_of(pinned) == [SOME_KEYS[1], SOME_KEYS[0]]
    assert pinned.reason == "", "it is first since it was asked for"
    standings = [each.judged.standing for each in pinned.candidates if each.judged]
    assert standings == [Standing.ELSEWHERE, Standing.IN_TUNE]


def test_a_choice_comes_first_and_what_was_rejected_is_left_out(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    numbers = [log(notebook, clarinet, "D5 -50", keys) for keys in SOME_KEYS[:3]]
    for number in numbers:
        take_maker(notebook, number, sounding_hz(D5_QUARTER_FLAT))
    say_word(notebook, numbers[2], WordDraft(Role.MINE))
    say_word(notebook, numbers[0], WordDraft(Role.REJECTED))
    item = only_item(notebook, clarinet, "D5 -50")
    assert keys_of(item) == [SOME_KEYS[2], SOME_KEYS[1]]
    assert [each.is_choice for each in item.candidates] == [True, False]
    assert item.reason == "your choice"
