"""A tuning note that the page's microphone sends, in JSON.

Truth: frequencies by closed formula; RFC 9110 for statuses (201 created, 405 with Allow, 413, 415,
422); ISO 8601 for moments.
"""

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled
from tests.webapp.pages.sending import error_of, json_of, send
from tests.webapp.snapshots import snapshot
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.practice.practice import open_practice
from webapp.notebook.store.notebook import Notebook

# The filled notebook's practice is held at A = 440 Hz on a bass written in the bass clef, which
# sounds a major second lower: a written G3 is F3, 16 semitones below A4.
G3_HZ = 440 * 2 ** (-16 / 12)


def test_a_tuning_note_is_kept_and_answered_in_the_same_shape(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    path = f"/practice/{rows.practice}/tuning-note.json"
    sound = tone_wav(G3_HZ * 2 ** (-7 / 1200), seed=8)

    first = send(filled_client, path, sound, written="G3")
    again = send(filled_client, path, sound, written="G3")

    assert (first.status_code, again.status_code) == (201, 200)
    result = json_of(first)
    assert json_of(again) == result
    assert set(result) == {
        "note", "practice", "verdict", "is_usable", "words", "offset_cents", "uncertainty_cents",
        "spread_cents", "f0_hz", "warnings", "pooled", "url", "figure",
    }  # fmt: skip
    assert result["offset_cents"] == pytest.approx(-7, abs=0.05)
    kept = open_practice(notebook, rows.practice).recorded_note
    assert kept is not None and kept.id == result["note"]


def test_a_tuning_note_that_waited_says_when_it_was_played(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    path = f"/practice/{rows.practice}/tuning-note.json"
    moment = "2025-11-03T18:30:00+00:00"
    send(filled_client, path, tone_wav(G3_HZ, seed=9), written="G3", recorded_at=moment)
    kept = open_practice(notebook, rows.practice).recorded_note
    assert kept is not None and kept.recorded_at is not None
    assert kept.recorded_at.isoformat() == moment


def test_a_tuning_note_of_another_pitch_is_refused_beside_its_field(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/practice/{filled[1].practice}/tuning-note.json"
    answer = send(filled_client, path, tone_wav(G3_HZ), written="A3")
    assert answer.status_code == 422
    error = error_of(answer)
    assert error["field"] == "written" and "another note" in error["message"]


@pytest.mark.parametrize(
    ("clip", "written", "status", "kind"),
    [
        (tone_wav(G3_HZ), "", 422, "field"),
        (tone_wav(G3_HZ), "nonsense", 422, "field"),
        (noise_wav(), "G3", 415, "not-a-recording"),
        (None, "G3", 415, "not-a-recording"),
    ],
)
def test_a_tuning_note_that_cannot_be_kept_is_refused(
    filled: tuple[Notebook, Filled],
    filled_client: Browser,
    clip: bytes | None,
    written: str,
    status: int,
    kind: str,
) -> None:
    notebook, rows = filled
    before = snapshot(notebook)
    path = f"/practice/{rows.practice}/tuning-note.json"
    answer = send(filled_client, path, clip, written=written)
    assert answer.status_code == status
    assert error_of(answer)["kind"] == kind
    assert snapshot(notebook) == before
