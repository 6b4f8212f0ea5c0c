"""The bin: nothing is lost until it is emptied, and then all of it is."""

import pytest

from tests.webapp.logging_rows import ENGLISH, Filled, TakeMaker, add_clarinet, log
from tests.webapp.snapshots import counted_queries, snapshot
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.safekeeping.bin import Place, empty_bin, list_bin, put_in_bin, restore
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.takes import open_take
from webapp.notebook.targets.search import SearchQuery, search_target

KEYS = "T R 123 | 12-"


@pytest.fixture
def family(notebook: Notebook, take_maker: TakeMaker) -> tuple[int, int, int]:
    """An instrument with a fingering with a take."""
    instrument = add_clarinet(notebook)
    fingering = log(notebook, instrument, "D5 -50", KEYS)
    return instrument, fingering, take_maker(notebook, fingering, 500.0)


def found(notebook: Notebook) -> int:
    """How many fingerings a search finds."""
    query = SearchQuery(text="500 Hz", within_cents=200)
    return search_target(notebook, query, names=ENGLISH).hit_count


@pytest.mark.parametrize("kind", ["instrument", "fingering", "take"])
def test_everything_comes_back_as_it_was(
    notebook: Notebook, family: tuple[int, int, int], kind: str
) -> None:
    row_id = dict(zip(("instrument", "fingering", "take"), family, strict=True))[kind]
    clips = {name: each for name, each in snapshot(notebook).items() if "clips" in name}
    put_in_bin(notebook, kind, row_id)
    contents = list_bin(notebook)
    assert not contents.is_empty
    held = {
        "instrument": contents.instruments,
        "fingering": contents.fingerings,
        "take": contents.takes,
    }
    assert {name: len(rows) for name, rows in held.items()} == {
        name: int(name == kind) for name in held
    }
    assert restore(notebook, kind, row_id) is True
    assert list_bin(notebook).is_empty
    assert open_fingering(notebook, family[1]).fingering.take_count == 1
    assert {name: each for name, each in snapshot(notebook).items() if "clips" in name} == clips


def test_the_player_goes_on_with_what_it_belonged_to(
    notebook: Notebook, family: tuple[int, int, int]
) -> None:
    instrument, fingering, take = family
    assert put_in_bin(notebook, "take", take) == Place("fingering", fingering)
    assert put_in_bin(notebook, "fingering", fingering) == Place("instrument", instrument)
    assert put_in_bin(notebook, "instrument", instrument) is None


def test_what_lies_in_something_binned_is_out_of_sight_without_a_mark_of_its_own(
    notebook: Notebook, family: tuple[int, int, int]
) -> None:
    instrument, fingering, take = family
    put_in_bin(notebook, "instrument", instrument)
    assert found(notebook) == 0
    for opening in (
        lambda: open_instrument(notebook, instrument),
        lambda: open_fingering(notebook, fingering),
        lambda: open_take(notebook, take),
    ):
        with pytest.raises(NotInNotebook, match="in the bin"):
            opening()
    restore(notebook, "instrument", instrument)
    assert found(notebook) == 1
    assert open_take(notebook, take).take.fingering_id == fingering


def test_a_thing_put_back_into_something_binned_waits_for_it(
    notebook: Notebook, family: tuple[int, int, int]
) -> None:
    instrument, fingering, take = family
    for kind, row_id in (("take", take), ("fingering", fingering), ("instrument", instrument)):
        put_in_bin(notebook, kind, row_id)
    assert restore(notebook, "take", take) is False
    assert restore(notebook, "fingering", fingering) is False
    with pytest.raises(NotInNotebook):
        open_take(notebook, take)
    assert restore(notebook, "instrument", instrument) is True
    assert open_take(notebook, take).take.id == take
    assert open_fingering(notebook, fingering).fingering.take_count == 1


def test_emptying_removes_rows_and_clips_of_all_that_is_inside(
    notebook: Notebook, family: tuple[int, int, int], take_maker: TakeMaker
) -> None:
    kept = log(notebook, add_clarinet(notebook, "kept"), "D5 -50", KEYS)
    take_maker(notebook, kept, 500.0)
    put_in_bin(notebook, "instrument", family[0])
    assert empty_bin(notebook) == 1
    assert list_bin(notebook).is_empty
    assert check_clips(notebook).is_sound
    assert check_clips(notebook).checked == 1
    with pytest.raises(NotInNotebook, match="no take number"):
        restore(notebook, "take", family[2])


def test_emptying_an_empty_bin_removes_nothing(
    notebook: Notebook, family: tuple[int, int, int]
) -> None:
    assert empty_bin(notebook) == 0
    assert open_take(notebook, family[2])


def test_a_fingering_outlives_the_one_it_came_from(
    notebook: Notebook, family: tuple[int, int, int]
) -> None:
    child = log(notebook, family[0], "D5 -40", "T R 123 | 1--", base=f"logged:{family[1]}")
    put_in_bin(notebook, "fingering", family[1])
    empty_bin(notebook)
    page = open_fingering(notebook, child)
    assert page.ancestors == ()
    assert page.fingering.base_keys_text == KEYS


@pytest.mark.parametrize(
    ("kind", "row_id"), [("instrument", 99), ("take", 99), ("key", 1), ("", 1)]
)
def test_what_is_not_there_cannot_be_put_in_or_taken_out(
    notebook: Notebook, family: tuple[int, int, int], kind: str, row_id: int
) -> None:
    for act in (put_in_bin, restore):
        with pytest.raises(NotInNotebook):
            act(notebook, kind, row_id)


def test_nothing_goes_into_the_bin_twice(notebook: Notebook, family: tuple[int, int, int]) -> None:
    put_in_bin(notebook, "fingering", family[1])
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        put_in_bin(notebook, "fingering", family[1])
    restore(notebook, "fingering", family[1])
    assert restore(notebook, "fingering", family[1]) is True, "putting back twice does no harm"


def test_the_list_shows_the_newest_first(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    rows = [log(notebook, instrument, "D5 -50", KEYS) for _ in range(3)]
    for row in (rows[1], rows[2], rows[0]):
        put_in_bin(notebook, "fingering", row)
    assert [row.id for row in list_bin(notebook).fingerings] == [rows[0], rows[2], rows[1]]


def test_listing_takes_as_many_queries_for_a_full_bin(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    with counted_queries(notebook) as few:
        list_bin(notebook)
    for row in (rows.child, rows.half_hole, rows.silent, rows.on_bass):
        put_in_bin(notebook, "fingering", row)
    with counted_queries(notebook) as many:
        contents = list_bin(notebook)
    assert len(contents.fingerings) == 5
    assert [row.instrument.name for row in contents.fingerings]
    assert len(many) == len(few)
