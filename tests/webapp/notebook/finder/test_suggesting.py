"""The finder is asked with what the player has shown and wishes for."""

from typing import Any

import pytest

from analysis.finder import Strategy
from analysis.keywork import format_fingering
from analysis.pitch import WrittenPitch
from tests.webapp.finder_fakes import E5, OTHER, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import ENGLISH, Filled, TakeMaker, add_clarinet, log
from webapp.notebook.finder.suggesting import (
    SuggestionPage,
    WishList,
    find_suggestions,
    peek_suggestions,
)
from webapp.notebook.finder.tries import SuggestionNote, settle_try, take_up
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import DismissReason, TryState

F5_FLAT = "F5-50c"
# E5 sounds a whole tone lower on a B-flat soprano: D5, 500 cents above A4 (closed formula).
D5_HZ = 440 * 2 ** (500 / 1200)


@pytest.fixture
def result_cache() -> ResultCache:
    """A result_cache of its own."""
    return ResultCache()


def ask(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument: int,
    target: str = F5_FLAT,
    **wishes: Any,
) -> SuggestionPage:
    """Ask for a target."""
    wanted = WishList(**wishes)
    return find_suggestions(notebook, result_cache, instrument, target, wanted, names=ENGLISH)


def dismiss(
    notebook: Notebook, result_cache: ResultCache, instrument: int, reason: DismissReason
) -> int:
    """Dismiss the first suggestion for F5-50c."""
    note = SuggestionNote(F5_FLAT, RAISED_E5, "ordinary:E5:1", Strategy.RAISED)
    return take_up(
        notebook, result_cache, instrument, note, state=TryState.DISMISSED, reason=reason
    )


def suggested(page: SuggestionPage) -> list[str]:
    """The keys that are suggested."""
    assert page.suggestions is not None
    return [format_fingering(item.fingering) for item in page.suggestions.items]


def test_a_target_is_answered_with_suggestions(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    page = ask(notebook, result_cache, add_clarinet(notebook))
    assert suggested(page) == [RAISED_E5, OTHER]
    assert page.written == WrittenPitch.from_canonical(F5_FLAT)
    assert fake_finder.fits == [()]
    assert page.suggestions is not None
    base = page.suggestions.items[0].base
    assert page.evidence.reference_of(base) == "ordinary:E5:1"


def test_the_model_is_made_anew_only_after_new_evidence(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder, take_maker: TakeMaker
) -> None:
    instrument = add_clarinet(notebook)
    entry = log(notebook, instrument, "E5", E5)
    for _ in range(2):
        ask(notebook, result_cache, instrument)
        ask(notebook, result_cache, instrument, "G5-50c")
    assert fake_finder.fits == [()]
    take_maker(notebook, entry, D5_HZ * 2 ** (8 / 1200))
    page = ask(notebook, result_cache, instrument)
    assert page.log_count == 1
    ((logged,),) = fake_finder.fits[1:]
    assert logged.offset_cents == pytest.approx(8.0)
    assert logged.written == WrittenPitch.from_canonical("E5")
    start = next(start for start in fake_finder.starts if start.logged_id == entry)
    assert start.offset_cents == pytest.approx(8.0)


def test_what_does_not_speak_is_evidence_and_no_starting_point(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    instrument = add_clarinet(notebook)
    entry = log(notebook, instrument, F5_FLAT, RAISED_E5, does_not_speak=True)
    ask(notebook, result_cache, instrument)
    ((logged,),) = fake_finder.fits
    assert logged.offset_cents is None
    assert entry not in {start.logged_id for start in fake_finder.starts}
    put_in_bin(notebook, "fingering", entry)
    ask(notebook, result_cache, instrument)
    assert fake_finder.fits[1] == ()


def test_wishes_reach_the_finder(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    instrument = add_clarinet(notebook)
    ask(
        notebook,
        result_cache,
        instrument,
        tolerance_cents=5.0,
        has_half_holes=True,
        most_changes=2,
        must_be_free=frozenset({"left-e"}),
        must_be_down=frozenset({"thumb"}),
        colour="below",
    )
    (wishes,) = fake_finder.asked
    assert (wishes.tolerance_cents, wishes.has_half_holes, wishes.most_changes) == (5.0, True, 2)
    assert (wishes.must_be_free, wishes.must_be_down) == (
        frozenset({"left-e"}),
        frozenset({"thumb"}),
    )
    assert wishes.prefers_colour_of is not None
    assert format_fingering(wishes.prefers_colour_of) == E5


@pytest.mark.parametrize(
    ("wishes", "field"),
    [
        ({"must_be_free": frozenset({"a"}), "must_be_down": frozenset({"a"})}, "down"),
        ({"most_changes": 0}, "changes"),
        ({"most_changes": 5}, "changes"),
    ],
)
def test_wishes_that_nothing_can_meet_are_refused(
    notebook: Notebook,
    result_cache: ResultCache,
    fake_finder: FakeFinder,
    wishes: dict[str, object],
    field: str,
) -> None:
    with pytest.raises(FieldRefused) as refused:
        ask(notebook, result_cache, add_clarinet(notebook), F5_FLAT, **wishes)
    assert refused.value.field == field
    assert fake_finder.asked == []


def test_an_unreadable_target_and_a_strange_instrument_are_refused(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    with pytest.raises(FieldRefused, match="nonsense"):
        ask(notebook, result_cache, add_clarinet(notebook), "nonsense")
    with pytest.raises(NotInNotebook, match="no instrument number 99"):
        ask(notebook, result_cache, 99)
    assert fake_finder.fits == []


def test_an_instrument_without_geometry_gets_the_reason(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    fake_finder.is_unavailable = True
    page = ask(notebook, result_cache, add_clarinet(notebook))
    assert page.suggestions is None
    assert page.failed is not None
    assert page.failed.reason == "Nothing is known of this tube, says the fake."


def test_what_was_dismissed_for_a_note_is_suggested_for_others(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    instrument = add_clarinet(notebook)
    dismiss(notebook, result_cache, instrument, DismissReason.PITCH)
    assert suggested(ask(notebook, result_cache, instrument)) == [OTHER]
    assert suggested(ask(notebook, result_cache, instrument, "G5-50c")) == [RAISED_E5, OTHER]
    assert fake_finder.fits == [()]


def test_what_does_not_lie_in_the_hands_is_suggested_for_nothing(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    instrument, other = add_clarinet(notebook), add_clarinet(notebook, "Another")
    dismiss(notebook, result_cache, instrument, DismissReason.AWKWARD)
    assert suggested(ask(notebook, result_cache, instrument, "G5-50c")) == [OTHER]
    assert suggested(ask(notebook, result_cache, other)) == [RAISED_E5, OTHER]


def test_dismissed_as_silent_is_learned_from_and_forgotten_when_put_back(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    instrument = add_clarinet(notebook)
    number = dismiss(notebook, result_cache, instrument, DismissReason.SILENT)
    ask(notebook, result_cache, instrument)
    (learned,) = fake_finder.fits[-1]
    assert learned.offset_cents is None
    assert format_fingering(learned.fingering) == RAISED_E5
    settle_try(notebook, number, TryState.WAITING)
    ask(notebook, result_cache, instrument)
    assert fake_finder.fits[-1] == ()


def test_peeking_begins_nothing(
    notebook: Notebook, result_cache: ResultCache, fake_finder: FakeFinder
) -> None:
    row = open_instrument(notebook, add_clarinet(notebook))
    written = WrittenPitch.from_canonical(F5_FLAT)

    def peek() -> SuggestionPage | None:
        with notebook.database.reading() as session:
            return peek_suggestions(session, notebook, result_cache, row, written, WishList())

    assert peek() is None
    assert fake_finder.fits == []
    ask(notebook, result_cache, row.id)
    page = peek()
    assert page is not None
    assert suggested(page) == [RAISED_E5, OTHER]


def test_the_real_finder_answers_for_a_player(
    filled: tuple[Notebook, Filled], result_cache: ResultCache
) -> None:
    notebook, rows = filled
    page = ask(notebook, result_cache, rows.soprano, "G5-50c")
    while page.working is not None:
        page = ask(notebook, result_cache, rows.soprano, "G5-50c")
    assert page.suggestions is not None
    items = page.suggestions.items
    # common practice, from memory: the right cross key raises F sharp 5 by a quarter tone
    (raised,) = (item for item in items if item.changes_words == "adds right cross key (opens)")
    assert page.evidence.reference_of(raised.base) == "ordinary:F#5:1"
    assert all(page.evidence.reference_of(item.base) for item in items)
    assert (notebook.folder / "cache").is_dir()
