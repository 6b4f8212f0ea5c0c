"""The day of a moment is that of the player's calendar, not of UTC."""

import os
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime

import pytest

from webapp.notebook.store.clock import day_of
from webapp.notebook.takes.takes import moment_of_day

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows keeps its zone for all programs")


@pytest.fixture(name="far_east")
def _far_east(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine thirteen hours ahead of UTC."""
    monkeypatch.setenv("TZ", "FAR-13")  # POSIX.1-2017, 8.3: the sign counts hours west
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("far_east")
def test_a_morning_that_passes_midnight_in_utc_is_one_day() -> None:
    before, after = (datetime(2026, 3, 3 + hour // 24, hour % 24, tzinfo=UTC) for hour in (23, 25))
    assert before.date() != after.date()
    assert day_of(before) == day_of(after) == date(2026, 3, 4)


@pytest.mark.usefixtures("far_east")
def test_a_day_that_was_typed_is_its_noon_here() -> None:
    moment = moment_of_day(date(2026, 3, 3))
    assert moment == datetime(2026, 3, 2, 23, tzinfo=UTC)
    assert day_of(moment) == date(2026, 3, 3)
