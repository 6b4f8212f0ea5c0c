"""The player's own layouts beside the shipped ones."""

import pytest

from analysis.keywork import (
    LayoutError,
    layout_ids,
    load_layout,
    ordinary_fingerings,
    read_layout,
    write_layout,
)
from tests.webapp.logging_rows import add_clarinet, log
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.instruments.layouts import (
    add_layout,
    list_layouts,
    open_layout,
    open_own_layout,
    own_layouts,
    propose_layout,
    remove_layout,
    restore_layout,
)
from webapp.notebook.safekeeping.bin import empty_bin, list_bin, put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook


def add_own(notebook: Notebook, start_from: str = "soprano-17-6") -> str:
    """Keep a layout as it is proposed."""
    return add_layout(notebook, propose_layout(notebook, start_from))


def test_without_own_layouts_the_shipped_ones_are_listed_by_name(notebook: Notebook) -> None:
    add_clarinet(notebook, "Mine")
    entries = list_layouts(notebook)
    names = [each.layout.name for each in entries]
    assert {each.layout.id for each in entries} == set(layout_ids())
    assert names == sorted(names)
    (used,) = [each for each in entries if each.instruments]
    assert (used.layout.id, used.instruments) == ("soprano-17-6", ("Mine",))
    assert used.ordinary_count == len(ordinary_fingerings(used.layout))


@pytest.mark.parametrize("start_from", layout_ids())
def test_a_proposal_differs_only_in_what_it_says_of_itself(
    notebook: Notebook, start_from: str
) -> None:
    layout = read_layout(propose_layout(notebook, start_from))
    shipped = load_layout(start_from)
    assert layout.id == f"my-{start_from}"
    assert "made by its player" in layout.provenance
    assert (layout.keys, layout.holes, layout.ordinary) == (
        shipped.keys,
        shipped.holes,
        shipped.ordinary,
    )
    assert layout.complete.keys == shipped.complete.keys


def test_proposals_never_take_a_name_twice(notebook: Notebook) -> None:
    first, second, third = (add_own(notebook) for _ in range(3))
    assert (first, second) == ("my-soprano-17-6", "my-soprano-17-6-2")
    assert add_own(notebook, first) == "my-soprano-17-6-4"
    assert len({first, second, third}) == 3


def test_an_own_layout_is_kept_in_full_and_listed_first(notebook: Notebook) -> None:
    text = propose_layout(notebook, "bass-low-c")
    layout_id = add_layout(notebook, text)
    entry = list_layouts(notebook)[0]
    assert entry.own is not None
    assert entry.layout == read_layout(text) == open_layout(notebook, layout_id).layout
    assert write_layout(read_layout(entry.own.toml)) == entry.own.toml
    assert own_layouts(notebook) == (entry.layout,)


def test_a_layout_that_extends_a_shipped_one_is_kept_written_out(notebook: Notebook) -> None:
    text = (
        'id = "short"\nextends = "soprano-17-6"\nversion = 3\nname = "Short"\n'
        'provenance = "invented for a test"\nkinds = ["b-flat-soprano"]\n'
    )
    own = open_own_layout(notebook, add_layout(notebook, text)).own
    assert own is not None
    assert "extends" not in own.toml
    assert own.read() == read_layout(text)


@pytest.mark.parametrize("taken", ["soprano-17-6", "new", "my-soprano-17-6"])
def test_a_taken_id_is_refused(notebook: Notebook, taken: str) -> None:
    add_own(notebook)
    text = propose_layout(notebook, "soprano-17-6").replace('"my-soprano-17-6-2"', f'"{taken}"', 1)
    with pytest.raises(FieldRefused, match=r"another id|another one"):
        add_layout(notebook, text)
    assert len(list_layouts(notebook)) == len(layout_ids()) + 1


def test_a_faulty_text_is_refused_with_its_line_and_nothing_is_kept(notebook: Notebook) -> None:
    text = propose_layout(notebook, "soprano-17-6")
    line = text.splitlines().index('token = "T"') + 1
    with pytest.raises(LayoutError, match="thumb") as refused:
        add_layout(notebook, text.replace('token = "T"', "token = 7", 1))
    assert refused.value.line == line
    assert own_layouts(notebook) == ()


def test_an_instrument_can_have_an_own_layout(notebook: Notebook) -> None:
    layout_id = add_own(notebook)
    instrument = add_clarinet(notebook, "Mine", layout_id=layout_id)
    log_id = log(notebook, instrument, "C#5 +25", "T R 123 | 123 | left F#")
    assert log_id
    assert open_instrument(notebook, instrument).layout == open_layout(notebook, layout_id).layout


def test_a_layout_in_use_stays_and_others_go_through_the_bin(notebook: Notebook) -> None:
    used, unused = add_own(notebook), add_own(notebook)
    instrument = add_clarinet(notebook, "Mine", layout_id=used)
    put_in_bin(notebook, "instrument", instrument)
    with pytest.raises(FieldRefused, match="keywork of “Mine”"):
        remove_layout(notebook, used)

    remove_layout(notebook, unused)
    assert [each.id for each in list_bin(notebook).layouts] == [unused]
    with pytest.raises(NotInNotebook):
        open_layout(notebook, unused)
    with pytest.raises(FieldRefused, match=r"not fit|no layout"):
        add_clarinet(notebook, "Other", layout_id=unused)
    restore_layout(notebook, unused)
    assert open_layout(notebook, unused).own is not None

    remove_layout(notebook, unused)
    empty_bin(notebook)
    with pytest.raises(NotInNotebook):
        restore_layout(notebook, unused)
    assert open_layout(notebook, used).own is not None, "its instrument went, and it stays"


def test_shipped_layouts_cannot_be_removed(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook, match="Shipped layouts stay"):
        remove_layout(notebook, "soprano-17-6")
