"""A plan sorts the steps of a range into solved, predicted and open."""

from typing import Any

import pytest

from analysis.pitch import SignSystem, WrittenPitch
from tests.webapp.finder_fakes import RAISED_E5, FakeFinder
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, log
from webapp.notebook.finder.plans import PlanOrder, PlanPage, open_plan
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache

F5_FLAT = WrittenPitch.from_canonical("F5-50c")


def plan(notebook: Notebook, instrument: int, **order: Any) -> PlanPage:
    """Plan a range."""
    wanted = PlanOrder(**order)
    return open_plan(notebook, ResultCache(), instrument, wanted, names=ENGLISH)


@pytest.mark.parametrize(("steps", "count"), [(24, 5), (48, 15)])
def test_the_steps_between_the_semitones_are_planned(
    notebook: Notebook, fake_finder: FakeFinder, steps: int, count: int
) -> None:
    # C5 to F5: five semitones, each with one quarter tone or three eighth tones inside.
    page = plan(notebook, add_clarinet(notebook), steps_per_octave=steps, low="C5", high="F5")
    assert len(page.targets) == count
    assert page.plan is not None
    assert len(page.plan.predicted) + len(page.plan.open) == count
    assert fake_finder.fits == [()]


def test_without_ends_it_is_the_whole_instrument(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    page = plan(notebook, add_clarinet(notebook))
    assert page.targets[0] == WrittenPitch.from_canonical("E3+50c")
    assert [register.value for register, _ in page.by_register()] == [
        "chalumeau", "throat", "clarion", "altissimo",
    ]  # fmt: skip
    assert fake_finder.asked == []


def test_an_arrow_at_an_end_is_as_large_as_in_the_system_in_use(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    del fake_finder
    instrument = add_clarinet(notebook)
    for system, first in (("arrows", "C5+25c"), ("arrows-sixth", "C5+50c")):
        order = {"low": "C\u21915", "high": "D5", "system": SignSystem.from_text(system)}
        found = plan(notebook, instrument, steps_per_octave=48, **order)
        assert found.targets[0] == WrittenPitch.from_canonical(first), system


@pytest.mark.parametrize(("offset_cents", "is_solved"), [(9.0, True), (11.0, False)])
def test_solved_is_what_was_measured_within_the_tolerance(
    notebook: Notebook,
    fake_finder: FakeFinder,
    take_maker: TakeMaker,
    offset_cents: float,
    is_solved: bool,
) -> None:
    del fake_finder
    instrument = add_clarinet(notebook)
    entry = log(notebook, instrument, "F5-50c", RAISED_E5)
    # F5-50c sounds a whole tone lower: 550 cents above A4 (closed formula).
    take_maker(notebook, entry, 440 * 2 ** ((550 + offset_cents) / 1200))
    page = plan(notebook, instrument, low="E5", high="F5", tolerance_cents=10.0)
    assert page.plan is not None
    solved_cents = [each.cents for each in page.plan.solved]
    assert solved_cents == ([F5_FLAT.cents] if is_solved else [])


@pytest.mark.parametrize(
    ("order", "field", "words"),
    [
        ({"low": "nonsense"}, "low", "nonsense"),
        ({"high": "D"}, "high", "Which is meant"),
        ({"low": "F5", "high": "C5"}, "high", "ends below"),
        ({"low": "F5 +10", "high": "F5 +20"}, "high", "Widen"),
        ({"steps_per_octave": 7}, "grid", "quarter tones or eighth tones"),
        ({"steps_per_octave": 48, "low": "C1", "high": "C9"}, "high", "Narrow it"),
    ],
)
def test_a_range_that_cannot_be_planned_is_refused(
    notebook: Notebook,
    fake_finder: FakeFinder,
    order: dict[str, object],
    field: str,
    words: str,
) -> None:
    with pytest.raises(FieldRefused, match=words) as refused:
        plan(notebook, add_clarinet(notebook), **order)
    assert refused.value.field == field
    assert fake_finder.fits == []


def test_an_instrument_without_geometry_gets_the_reason(
    notebook: Notebook, fake_finder: FakeFinder
) -> None:
    fake_finder.is_unavailable = True
    page = plan(notebook, add_clarinet(notebook))
    assert page.plan is None
    assert page.failed is not None


def test_a_strange_instrument_is_refused(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        plan(notebook, 99)
