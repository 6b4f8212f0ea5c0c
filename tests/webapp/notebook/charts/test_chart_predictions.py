"""A chart may print predictions for open steps: opt-in, the player's own tries first."""

from typing import Any

import pytest

from analysis.finder import Strategy
from analysis.keywork import format_fingering
from tests.webapp.finder_fakes import OTHER, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.charts import charts
from webapp.notebook.charts.chart_predictions import predict_open_steps
from webapp.notebook.charts.charts import ChartChoice, ChartOrder, make_chart
from webapp.notebook.charts.pdf import ChartEntry, ChartSpec
from webapp.notebook.finder.tries import SuggestionNote, take_up
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Failed, Ready, ResultCache


@pytest.fixture
def instrument(notebook: Notebook, fake_finder: FakeFinder) -> int:
    """An instrument whose finder is the fake: it predicts the first open step of a range."""
    del fake_finder
    return add_clarinet(notebook)


def predict(notebook: Notebook, instrument: int, **choice: Any) -> tuple[ChartEntry, ...]:
    """Predict the open quarter tones from E5 to G5."""
    asked: dict[str, Any] = {"low": "E5", "high": "G5", "predicted_steps": 24, **choice}
    wanted = ChartChoice(instrument, **asked)
    outcome = predict_open_steps(notebook, ResultCache(), wanted, writing=Writing())
    assert isinstance(outcome, Ready)
    return outcome.value


def test_an_open_step_gets_the_best_suggestion(notebook: Notebook, instrument: int) -> None:
    (entry,) = predict(notebook, instrument)
    assert entry.written.canonical == "E5+50c"
    assert format_fingering(entry.fingering) == RAISED_E5
    assert entry.prediction is not None
    assert (entry.prediction.offset_cents, entry.prediction.sigma_cents) == (-7.0, 12.0)
    assert (entry.offset_cents, entry.take_count) == (None, 0)
    assert entry.base is not None


def test_what_waits_on_the_try_list_goes_first_and_as_it_was_said(
    notebook: Notebook, instrument: int
) -> None:
    note = SuggestionNote("F5-50c", OTHER, "ordinary:E5:1", Strategy.COMBINATION)
    take_up(notebook, ResultCache(), instrument, note)
    open_step = SuggestionNote("F5+50c", OTHER, "ordinary:E5:1", Strategy.COMBINATION)
    take_up(notebook, ResultCache(), instrument, open_step)
    entries = predict(notebook, instrument)
    assert [entry.written.canonical for entry in entries] == ["F5-50c", "F5+50c"]  # E5+50c too
    assert {format_fingering(entry.fingering) for entry in entries} == {OTHER}
    assert all(entry.notes == "On the try list." for entry in entries)


def test_a_solved_step_gets_none(
    notebook: Notebook, instrument: int, take_maker: TakeMaker
) -> None:
    # written F5 -50 on a B-flat soprano sounds 550 cents above A4
    take_maker(notebook, log(notebook, instrument, "F5 -50", OTHER), 440 * 2 ** (550 / 1200))
    assert [entry.written.canonical for entry in predict(notebook, instrument)] == ["F5+50c"]


def test_the_filters_of_the_chart_hold_for_predictions_too(
    notebook: Notebook, instrument: int
) -> None:
    assert predict(notebook, instrument, strategy=Strategy.RAISED)
    assert not predict(notebook, instrument, strategy=Strategy.LOWERED)
    half = SuggestionNote("F5-50c", "T R 1(2)3 | 12-", "ordinary:E5:1", Strategy.RAISED)
    take_up(notebook, ResultCache(), instrument, half)
    assert predict(notebook, instrument)[0].fingering.has_half_hole  # of the same step
    assert not predict(notebook, instrument, is_without_half_holes=True)


def test_a_range_that_cannot_be_read_is_refused(notebook: Notebook, instrument: int) -> None:
    with pytest.raises(FieldRefused) as refused:
        predict(notebook, instrument, high="nonsense")
    assert refused.value.field == "high"


def test_an_instrument_without_a_known_tube_says_so(
    notebook: Notebook, instrument: int, fake_finder: FakeFinder
) -> None:
    fake_finder.is_unavailable = True
    choice = ChartChoice(instrument, predicted_steps=24)
    outcome = predict_open_steps(notebook, ResultCache(), choice, writing=Writing())
    assert isinstance(outcome, Failed)


@pytest.mark.parametrize(
    ("order", "expected"),
    [
        (ChartOrder.RISING, ["E5", "F5-50c", "E5+50c", "G5"]),
        (ChartOrder.FALLING, ["G5", "F5-50c", "E5+50c", "E5"]),
        (ChartOrder.NEWEST, ["F5-50c", "G5", "E5", "E5+50c"]),
    ],
)
def test_predictions_stand_in_their_place_after_what_is_logged(
    notebook: Notebook,
    instrument: int,
    monkeypatch: pytest.MonkeyPatch,
    order: ChartOrder,
    expected: list[str],
) -> None:
    specs: list[ChartSpec] = []

    def catch(spec: ChartSpec) -> bytes:
        specs.append(spec)
        return b"%PDF"

    monkeypatch.setattr(charts, "render", catch)
    for target in ("E5", "G5", "F5 -50"):
        log(notebook, instrument, target, OTHER)
    made = make_chart(
        notebook,
        ChartChoice(instrument, order=order),
        writing=Writing(),
        predicted=predict(notebook, instrument),
    )
    entries = specs[-1].entries
    assert [entry.written.canonical for entry in entries] == expected
    assert made.entry_count == len(entries)
    at_step = [entry for entry in entries if entry.written.cents == 7650]
    assert [entry.prediction is not None for entry in at_step] == [False, True]
