"""A form that comes back refused says so at the top, with a link to what is to be mended."""

from __future__ import annotations

import pytest

from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import Filled
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.store.notebook import Notebook


def leads_to(page: Page, fault: str) -> bool:
    """Whether the notice is above all else and its link leads to one message on the page."""
    assert page.html.index('role="alert"') < page.html.index("<h2")
    (notice,) = page.find("div", role="alert")
    assert "autofocus" in notice.attributes  # the focus is where one looks next
    return len(page.find("a", href=f"#{fault}")) == len(page.find("p", id=fault)) == 1


def test_a_recording_that_is_none_is_announced_above_the_entry(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/fingerings/{filled[1].base}"
    page = filled_client.submit(path, f"{path}/takes", clip=(b"Dear reader", "a.wav"))
    assert page.status == 415
    assert "Not saved yet" in page.text
    assert leads_to(page, "clip-error")


@pytest.mark.parametrize(
    ("action", "fields", "fault"),
    [
        ("/targets/typed", {"targets": "D5, spoon"}, "targets-error"),
        ("/targets/gaps", {"grid": "24", "low": "F5", "high": "C5", "count": "2"}, "high-error"),
        ("/facts", {"tuning_a_hz": "spoon"}, "tuning_a_hz-error"),
    ],
)
def test_what_a_practice_refuses_is_announced_above_its_list(
    client: Browser, practice: int, action: str, fields: dict[str, str], fault: str
) -> None:
    page = client.submit(f"/practice/{practice}", action, fields)
    assert page.status == 422
    assert leads_to(page, fault)


@pytest.mark.parametrize(
    ("written", "clip", "fault"),
    [("spoon", tone_wav(440.0), "written-error"), ("B4", noise_wav(), "clip-error")],
)
def test_a_tuning_note_that_is_refused_is_announced_above_the_practice(
    client: Browser, practice: int, written: str, clip: bytes, fault: str
) -> None:
    page = client.submit(
        f"/practice/{practice}", "/tuning-note", clip=(clip, "a.wav"), written=written
    )
    assert page.status in {415, 422}
    assert leads_to(page, fault)


def test_a_page_that_refused_nothing_announces_nothing(client: Browser, practice: int) -> None:
    assert "Not saved yet" not in client.get(f"/practice/{practice}").text
