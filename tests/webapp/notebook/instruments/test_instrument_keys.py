"""Keys that one instrument lacks, and its player's names for them."""

import pytest

from analysis.keywork import format_fingering, parse_fingering
from tests.webapp.logging_rows import ENGLISH, add_clarinet, clarinet, draft, log
from webapp.notebook.fingerings.fingerings import change_fingering, open_fingering
from webapp.notebook.instruments.instrument_keys import change_keys
from webapp.notebook.instruments.instruments import change_instrument, open_instrument
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, StaleEdit
from webapp.notebook.store.notebook import Notebook

BASS = {"kind_id": "b-flat-bass", "layout_id": "bass-low-c"}
LOW_D = "T 123 | 123 | left low D"


@pytest.fixture
def bass(notebook: Notebook) -> int:
    return add_clarinet(notebook, "Bass", **BASS)


def keys_of(notebook: Notebook, instrument_id: int) -> set[str]:
    return {key.id for key in open_instrument(notebook, instrument_id).layout.keys}


def change(
    notebook: Notebook,
    instrument_id: int,
    *,
    without: frozenset[str] | None = None,
    names: dict[str, str] | None = None,
    seen: int = 1,
) -> None:
    usual = open_instrument(notebook, instrument_id).layout.without
    change_keys(
        notebook,
        instrument_id,
        without=usual if without is None else without,
        names=names or {},
        seen_version=seen,
    )


def test_keys_go_and_come_back(notebook: Notebook, bass: int) -> None:
    usual = open_instrument(notebook, bass).layout
    change(notebook, bass, without=usual.without | {"left-d"})
    assert keys_of(notebook, bass) == {key.id for key in usual.keys} - {"left-d"}
    change(notebook, bass, without=frozenset(), seen=2)
    assert keys_of(notebook, bass) == {key.id for key in usual.complete.keys}
    change(notebook, bass, without=usual.without, seen=3)
    instrument = open_instrument(notebook, bass)
    assert instrument.layout == usual
    assert instrument.without_keys is None, "the usual keys are those of the layout"


def test_a_name_is_understood_when_typed_and_the_text_form_stays(
    notebook: Notebook, bass: int
) -> None:
    change(notebook, bass, names={"left-d": "  pinky D ", "right-d": ""})
    layout = open_instrument(notebook, bass).layout
    assert layout.key("left-d").name == "pinky D"
    assert layout.renamed == (("left-d", "pinky D"),)
    assert format_fingering(parse_fingering("T 123, 123, pinky d", layout)) == LOW_D
    change(notebook, bass, seen=2)
    assert open_instrument(notebook, bass).layout.renamed == ()
    assert open_instrument(notebook, bass).key_names is None


@pytest.mark.parametrize("role", ["pressed", "in the bin", "as what it came from"])
def test_a_key_that_is_pressed_by_what_is_logged_stays(
    notebook: Notebook, bass: int, role: str
) -> None:
    fingering = log(notebook, bass, "D3 +50", LOW_D, layout_id="bass-low-c")
    if role == "in the bin":
        put_in_bin(notebook, "fingering", fingering)
    if role == "as what it came from":
        log(
            notebook, bass, "D3 +30", "T 123 | 123", layout_id="bass-low-c",
            base=f"logged:{fingering}",
        )  # fmt: skip
        version = open_fingering(notebook, fingering).fingering.version
        changed = draft("D3 +50", "T 123 | 123", layout_id="bass-low-c")
        change_fingering(notebook, fingering, changed, seen_version=version, names=ENGLISH)
    usual = open_instrument(notebook, bass).layout.without
    words = "D quarter-sharp 3" if role == "pressed" else role
    with pytest.raises(FieldRefused, match=words) as refused:
        change(notebook, bass, without=usual | {"left-d"})
    assert refused.value.field == "has-left-d"
    assert "left low D key" in str(refused.value)
    assert "left-d" in keys_of(notebook, bass)


def test_many_fingerings_are_named_in_part(notebook: Notebook, bass: int) -> None:
    for cents in range(10, 70, 10):
        log(notebook, bass, f"D3 +{cents}", LOW_D, layout_id="bass-low-c")
    with pytest.raises(FieldRefused, match="and 2 more"):
        change(notebook, bass, without=frozenset({"left-d"}))


@pytest.mark.parametrize(
    ("without", "names", "field", "words"),
    [
        (frozenset({"thumb"}), {}, "keys", "can't be switched off"),
        (frozenset({"no-such-key"}), {}, "keys", "has no key"),
        (None, {"left-d": "right E"}, "name-left-d", "already means the right E"),
        (None, {"left-d": "x" * 61}, "name-left-d", "60 characters"),
        (None, {"left-d": "a\x07b"}, "name-left-d", "printed"),
        (None, {"left-d": "same", "right-d": "same"}, "name-left-d", "same"),
    ],
)
def test_a_refusal_names_its_field_and_keeps_nothing(
    notebook: Notebook,
    bass: int,
    without: frozenset[str] | None,
    names: dict[str, str],
    field: str,
    words: str,
) -> None:
    with pytest.raises(FieldRefused, match=words) as refused:
        change(notebook, bass, without=without, names=names)
    assert refused.value.field == field
    instrument = open_instrument(notebook, bass)
    assert (instrument.without_keys, instrument.key_names) == (None, None)


def test_stale_and_missing_instruments_are_refused(notebook: Notebook, bass: int) -> None:
    with pytest.raises(StaleEdit):
        change(notebook, bass, seen=0)
    with pytest.raises(NotInNotebook):
        change_keys(notebook, 99, without=frozenset(), names={}, seen_version=1)


def test_another_layout_begins_with_its_own_keys(notebook: Notebook, bass: int) -> None:
    change(notebook, bass, without=frozenset(), names={"left-d": "pinky D"})
    other = clarinet("Bass", kind_id="b-flat-bass", layout_id="bass-low-eb")
    change_instrument(notebook, bass, other, seen_version=2)
    instrument = open_instrument(notebook, bass)
    assert (instrument.without_keys, instrument.key_names) == (None, None)
