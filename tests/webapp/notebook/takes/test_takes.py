"""Takes and their evidence. Real sound where decoding or measuring matters; pitches by formula."""

import hashlib
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from analysis.recording import TakeWarning, Verdict, decode_clip
from tests.webapp.logging_rows import TakeMaker, attach, log
from tests.webapp.tones import tone_wav
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin, restore
from webapp.notebook.store.errors import ClipMissing, DuplicateClip, FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes import incoming
from webapp.notebook.takes.takes import find_clip, open_take

# D5 -50 on a B-flat soprano sounds 7150 cents, 250 above A4.
TARGET_CENTS = 250


def hz(offset_cents: float, tuning_a_hz: float = 440.0) -> float:
    """The frequency this far above the target, at a tuning A."""
    return float(tuning_a_hz * 2 ** ((TARGET_CENTS + offset_cents) / 1200))


def offset_of(notebook: Notebook, fingering: int) -> float | None:
    """The pooled offset."""
    return open_fingering(notebook, fingering).fingering.offset_cents


def test_a_recorded_note_becomes_an_offset(notebook: Notebook, fingering: int) -> None:
    sound = tone_wav(hz(12.0))
    take_id = attach(
        notebook, fingering, sound, original_name="x.wav", dynamic="mf", air_temperature_c=20.0
    )
    take = open_take(notebook, take_id).take
    row = open_fingering(notebook, fingering).fingering
    assert row.offset_cents == pytest.approx(12.0, abs=0.1)
    measured_cents = take.measurement.f0_uncertainty_cents
    assert measured_cents is not None
    assert 0 < measured_cents < 1
    # One take says nothing of how far the next would lie: it is trusted less than it is sharp.
    assert row.offset_uncertainty_cents is not None
    assert row.offset_uncertainty_cents > measured_cents
    assert row.sounding_cents == pytest.approx(7162.0, abs=0.1)
    assert row.take_count == 1
    assert take.sha256 == hashlib.sha256(sound).hexdigest()
    assert (take.byte_count, take.clip_format) == (len(sound), "wav")
    assert (take.dynamic, take.air_temperature_c, take.tuning_a_hz) == ("mf", 20.0, 440.0)
    assert take.measurement.read().f0_hz == take.measurement.f0_hz
    found, path = find_clip(notebook, take_id)
    assert found.id == take_id
    assert path.read_bytes() == sound


def test_each_take_is_proved_at_the_tuning_of_its_own_day(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    take_maker(notebook, fingering, hz(5.0, 442.0), tuning_a_hz=442.0)
    assert offset_of(notebook, fingering) == pytest.approx(5.0)
    # The same sound judged at A = 440 lies 1200 log2(442/440) = 7.85 cents higher.
    other = log(notebook, 1, "D5 -50", "T R 123 | 12-")
    take_maker(notebook, other, hz(5.0, 442.0))
    assert offset_of(notebook, other) == pytest.approx(5.0 + 7.8514, abs=0.001)


def test_several_takes_pool_into_one_figure_that_an_odd_one_does_not_drag_along(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    for offset_cents in (9.0, 10.0, 11.0, 10.5):
        take_maker(notebook, fingering, hz(offset_cents))
    take_maker(notebook, fingering, hz(40.0))
    row = open_fingering(notebook, fingering).fingering
    assert row.take_count == 5
    assert row.offset_cents == pytest.approx(10.3, abs=1.0)
    take_maker(notebook, fingering, hz(-607.0))
    again = open_fingering(notebook, fingering).fingering
    assert (again.take_count, again.set_aside_count) == (5, 1)
    assert (again.offset_cents, again.sounding_cents) == (row.offset_cents, row.sounding_cents)


@pytest.mark.parametrize("verdict", [each for each in Verdict if each is not Verdict.OK])
def test_a_take_without_a_pitch_is_kept_and_does_not_count(
    notebook: Notebook, fingering: int, take_maker: TakeMaker, verdict: Verdict
) -> None:
    take_maker(notebook, fingering, hz(5.0))
    take_maker(notebook, fingering, None, verdict=verdict)
    page = open_fingering(notebook, fingering)
    assert len(page.takes) == 2
    assert page.fingering.take_count == 1
    assert page.fingering.offset_cents == pytest.approx(5.0)


def test_the_same_recording_is_attached_once_to_a_fingering(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    first = take_maker(notebook, fingering, hz(5.0), sound=b"the same bytes")
    with pytest.raises(DuplicateClip, match="attached to this fingering already") as caught:
        take_maker(notebook, fingering, hz(5.0), sound=b"the same bytes")
    assert caught.value.take_id == first
    assert len(notebook.clips.names()) == 1
    # On another fingering it may stand: a wrong choice of fingering can be mended.
    take_maker(notebook, log(notebook, 1, "D5", "T R 123 | 12-"), 500.0, sound=b"the same bytes")


def test_a_binned_take_may_be_attached_anew(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    binned = take_maker(notebook, fingering, hz(5.0), sound=b"same")
    put_in_bin(notebook, "take", binned)
    take_maker(notebook, fingering, hz(5.0), sound=b"same")
    assert open_fingering(notebook, fingering).fingering.take_count == 1
    with pytest.raises(DuplicateClip, match="attached to this fingering already"):
        restore(notebook, "take", binned)  # one recording is one take
    assert open_fingering(notebook, fingering).fingering.take_count == 1


def test_evidence_goes_and_comes_back_with_its_takes(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    first = take_maker(notebook, fingering, hz(4.0))
    second = take_maker(notebook, fingering, hz(8.0))
    assert offset_of(notebook, fingering) == pytest.approx(6.0)
    put_in_bin(notebook, "take", second)
    assert offset_of(notebook, fingering) == pytest.approx(4.0)
    put_in_bin(notebook, "take", first)
    row = open_fingering(notebook, fingering).fingering
    assert (row.offset_cents, row.offset_uncertainty_cents, row.take_count) == (None, None, 0)
    assert row.sounding_cents == row.target_cents
    restore(notebook, "take", second)
    assert offset_of(notebook, fingering) == pytest.approx(8.0)
    empty_bin(notebook)
    assert offset_of(notebook, fingering) == pytest.approx(8.0)


@pytest.mark.parametrize(
    ("note", "field"),
    [
        ({"dynamic": "mfp"}, "dynamic"),
        ({"air_temperature_c": 46.0}, "air_temperature_c"),
        ({"air_temperature_c": -11.0}, "air_temperature_c"),
        ({"tuning_a_hz": 389.0}, "tuning_a_hz"),
        ({"tuning_a_hz": 0.0}, "tuning_a_hz"),
        ({"recorded_at": datetime.now(UTC) + timedelta(days=2)}, "recorded_at"),
    ],
)
def test_what_is_said_of_a_take_is_checked_before_anything_is_stored(
    notebook: Notebook, fingering: int, note: dict[str, object], field: str
) -> None:
    with pytest.raises(FieldRefused) as caught:
        attach(notebook, fingering, b"never read", **note)
    assert caught.value.field == field
    assert notebook.clips.names() == frozenset()


def test_a_take_is_dated_now_unless_told_otherwise(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    day = datetime(2024, 5, 17, 12, tzinfo=UTC)
    dated = take_maker(notebook, fingering, hz(0.0), recorded_at=day)
    undated = take_maker(notebook, fingering, hz(0.0))
    assert open_take(notebook, dated).take.recorded_at == day
    age = datetime.now(UTC) - open_take(notebook, undated).take.recorded_at
    assert abs(age.total_seconds()) < 60


def test_a_long_name_keeps_its_end(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    take = take_maker(notebook, fingering, hz(0.0), original_name="x" * 300 + ".wav")
    name = open_take(notebook, take).take.original_name
    assert len(name) == 255
    assert name.endswith("x.wav")


def test_what_the_decoder_warns_of_is_kept_with_the_measurement(
    notebook: Notebook, fingering: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        incoming,
        "decode_clip",
        lambda path: replace(decode_clip(path), warnings=(TakeWarning.TRUNCATED,)),
    )
    take = attach(notebook, fingering, tone_wav(hz(0.0)))
    measurement = open_take(notebook, take).take.measurement.read()
    assert TakeWarning.TRUNCATED in measurement.warnings


def test_there_is_no_take_on_what_is_not_there(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    with pytest.raises(NotInNotebook):
        attach(notebook, 99, b"never read")
    take = take_maker(notebook, fingering, hz(0.0))
    with pytest.raises(NotInNotebook):
        open_take(notebook, take + 1)
    with pytest.raises(NotInNotebook):
        find_clip(notebook, take + 1)
    put_in_bin(notebook, "instrument", 1)
    with pytest.raises(NotInNotebook, match="instrument of this fingering lies in the bin"):
        attach(notebook, fingering, b"never read")
    with pytest.raises(NotInNotebook, match="instrument of this fingering lies in the bin"):
        open_take(notebook, take)


def test_a_missing_clip_is_named(notebook: Notebook, fingering: int, take_maker: TakeMaker) -> None:
    take = take_maker(notebook, fingering, hz(0.0))
    find_clip(notebook, take)[1].unlink()
    with pytest.raises(ClipMissing, match="missing from the clip store"):
        find_clip(notebook, take)
