"""Long recordings: found, proposed, chosen, cut; also when the program ends in between."""

import io
import threading
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from sqlalchemy import select

from analysis.recording import Recording, decode_clip
from tests.analysis.recording.sounds import RATE as PLAY_RATE_HZ
from tests.analysis.recording.sounds import Played, play
from tests.webapp.logging_rows import add_clarinet, log
from tests.webapp.playing import NOTE_S, SILENCE_S, evening_wav, sounding_hz
from tests.webapp.tones import silent_wav, wav_bytes
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.recordings import splitting
from webapp.notebook.recordings.note_proposals import Order, Wish
from webapp.notebook.recordings.recordings import (
    DISCARD,
    UNSORTED,
    add_recording,
    assign_notes,
    find_recording,
    list_recordings,
    open_recording,
    try_again,
)
from webapp.notebook.recordings.splitter import Background
from webapp.notebook.recordings.splitting import Report, cut_wav, find_unfinished, work_on
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin, restore
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.store.errors import ClipRefused, NotInNotebook, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, LongRecording, Segment, Take
from webapp.notebook.takes.takes import TakeNote, attach_cut
from webapp.notebook.takes.unsorted import list_unsorted

WRITTEN = {"C#5 +25": 7325.0, "D5 -50": 7350.0, "A5 +50": 8150.0}
TONE_PAD_S = 0.1  # silence at either end of a made-up tone
PLAYED = (7352.0, 8146.0, 7351.0, 6500.0)  # the last one is near nothing that is logged


def add(notebook: Notebook, clarinet: int, sound: bytes | None = None, **note: Any) -> int:
    sound = sound or evening_wav([sounding_hz(each) for each in PLAYED])
    facts = TakeNote(original_name="evening.wav", **note)
    return add_recording(notebook, clarinet, BytesIO(sound), facts)


def work(notebook: Notebook, recording: int) -> None:
    work_on(notebook, recording, stop=threading.Event())


def segments_of(notebook: Notebook, recording: int) -> list[Segment]:
    query = select(Segment).where(Segment.recording_id == recording).order_by(Segment.position)
    with notebook.database.reading() as session:
        return list(session.scalars(query))


@pytest.fixture
def fingerings(notebook: Notebook, clarinet: int) -> dict[str, int]:
    keys = ("T R 123 | 123 | right F#", "T R 123 | 12-", "T R (1)2- | ---")
    return {
        target: log(notebook, clarinet, target, text)
        for target, text in zip(WRITTEN, keys, strict=True)
    }


def test_notes_are_found_where_they_were_played(notebook: Notebook, clarinet: int) -> None:
    recording = add(notebook, clarinet)
    assert find_recording(notebook, recording).is_at_work
    work(notebook, recording)

    found = segments_of(notebook, recording)
    assert len(found) == len(PLAYED)
    for number, (segment, written) in enumerate(zip(found, PLAYED, strict=True)):
        starts_s = SILENCE_S + TONE_PAD_S + number * (NOTE_S + 2 * TONE_PAD_S + SILENCE_S)
        assert segment.from_s <= segment.steady_from_s < segment.steady_to_s <= segment.to_s
        assert segment.from_s == pytest.approx(starts_s, abs=0.1)
        assert segment.to_s == pytest.approx(starts_s + NOTE_S, abs=0.1)
        assert segment.f0_hz is not None
        assert 1200 * np.log2(segment.f0_hz / sounding_hz(written)) == pytest.approx(0, abs=0.2)
    done = find_recording(notebook, recording)
    assert (done.state, done.done_share) == ("ready", 1.0)


def test_proposals_by_pitch_name_the_nearest_fingering_or_none(
    notebook: Notebook, clarinet: int, fingerings: dict[str, int]
) -> None:
    recording = add(notebook, clarinet)
    work(notebook, recording)
    proposed = [each.proposed_id for each in open_recording(notebook, recording, Wish()).found]
    quarter_flat = fingerings["D5 -50"]
    assert proposed == [quarter_flat, fingerings["A5 +50"], quarter_flat, None]


@pytest.mark.parametrize(
    ("order", "names"),
    [
        (Order.RISING, ["D5 -50", "A5 +50"]),
        (Order.FALLING, ["A5 +50", "D5 -50"]),
        (Order.LOGGED, ["D5 -50", "A5 +50"]),
    ],
)
def test_proposals_in_order_follow_the_chosen_list(
    notebook: Notebook,
    clarinet: int,
    fingerings: dict[str, int],
    order: Order,
    names: list[str],
) -> None:
    recording = add(notebook, clarinet)
    work(notebook, recording)
    wish = Wish(order, frozenset(fingerings[name] for name in names))
    proposed = [each.proposed_id for each in open_recording(notebook, recording, wish).found]
    assert proposed == [*(fingerings[name] for name in names), None, None]


def test_chosen_notes_become_takes_with_clips_of_their_own(
    notebook: Notebook, clarinet: int, fingerings: dict[str, int]
) -> None:
    practice = start_practice(notebook, clarinet, PracticeDraft(441.0, 19.0))
    recording = add(notebook, clarinet, dynamic="p")
    work(notebook, recording)
    found = segments_of(notebook, recording)
    chosen = fingerings["D5 -50"]
    count = assign_notes(
        notebook,
        recording,
        {found[0].id: str(chosen), found[2].id: str(chosen), found[3].id: DISCARD},
    )
    assert count == 2
    assert find_unfinished(notebook) == (recording,)
    work(notebook, recording)

    after = segments_of(notebook, recording)
    assert [each.take_id is not None for each in after] == [True, False, True, False]
    assert [each.is_discarded for each in after] == [False, False, False, True]
    with notebook.database.reading() as session:
        takes = [session.get_one(Take, after[place].take_id) for place in (0, 2)]
        fingering = session.get_one(Fingering, chosen)
    for take in takes:
        assert (take.practice_id, take.tuning_a_hz, take.air_temperature_c) == (
            practice,
            441.0,
            19.0,
        )
        assert (take.dynamic, take.clip_format) == ("p", "wav")
        assert take.original_name.startswith("evening.wav, note ")
    assert fingering.take_count == 2
    # played 2 and 1 cents above at A = 440; A = 441 lies 3.93 cents higher (1200 log2(441/440))
    assert fingering.offset_cents == pytest.approx(1.5 - 1200 * np.log2(441 / 440), abs=0.2)
    assert check_clips(notebook).is_sound
    assert len(notebook.clips.names()) == 3


def test_a_cut_holds_the_very_samples_of_the_recording(
    notebook: Notebook, clarinet: int, fingerings: dict[str, int]
) -> None:
    recording = add(notebook, clarinet)
    work(notebook, recording)
    first = segments_of(notebook, recording)[0]
    assign_notes(notebook, recording, {first.id: str(fingerings["D5 -50"])})
    work(notebook, recording)
    with notebook.database.reading() as session:
        take = session.get_one(Take, segments_of(notebook, recording)[0].take_id)
        row = session.get_one(LongRecording, recording)
    whole = decode_clip(notebook.clips.find(row.clip_name))
    cut = decode_clip(notebook.clips.find(take.clip_name))
    assert cut.sample_rate_hz == whole.sample_rate_hz
    start = round(max(first.from_s, first.steady_from_s - 0.25) * whole.sample_rate_hz)
    assert np.array_equal(cut.samples, whole.samples[start : start + len(cut.samples)])
    assert cut.duration_s >= first.steady_to_s - first.steady_from_s


def test_a_float_wav_is_read_back_the_same_by_another_reader() -> None:
    import soundfile

    samples = np.linspace(-1, 1, 1001, dtype=np.float32)
    read, rate = soundfile.read(io.BytesIO(cut_wav(samples, 48_000.0)), dtype="float32")
    assert rate == 48_000
    assert np.array_equal(read, samples)
    assert cut_wav(samples, 48_000.0) == cut_wav(samples, 48_000.0)


def test_work_interrupted_between_two_takes_goes_on_without_doubling_any(
    notebook: Notebook,
    clarinet: int,
    fingerings: dict[str, int],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    recording = add(notebook, clarinet)
    work(notebook, recording)
    found = segments_of(notebook, recording)
    chosen = str(fingerings["D5 -50"])
    assign_notes(notebook, recording, {found[0].id: chosen, found[2].id: chosen})

    # Killed after the take was committed and before its note knew: as hard as it can get.
    real = attach_cut

    class Killed(BaseException):
        pass

    def attach_and_die(*call: Any) -> int:
        real(*call)
        raise Killed

    monkeypatch.setattr(splitting, "attach_cut", attach_and_die)
    with pytest.raises(Killed):
        work(notebook, recording)
    monkeypatch.setattr(splitting, "attach_cut", real)

    assert find_unfinished(notebook) == (recording,), "the database knows what is left"
    work(notebook, recording)
    with notebook.database.reading() as session:
        assert len(list(session.scalars(select(Take)))) == 2
    assert all(segments_of(notebook, recording)[place].take_id for place in (0, 2))
    assert find_unfinished(notebook) == ()


def test_a_stop_leaves_the_rest_for_the_next_start(notebook: Notebook, clarinet: int) -> None:
    recording = add(notebook, clarinet)
    stop = threading.Event()
    stop.set()
    work_on(notebook, recording, stop=stop)
    assert find_recording(notebook, recording).is_at_work
    assert segments_of(notebook, recording) == []
    background = Background(notebook)  # the next start
    background.wake()
    assert background.wait(60)
    assert len(segments_of(notebook, recording)) == len(PLAYED)


def test_splitting_twice_finds_the_same_notes_once(notebook: Notebook, clarinet: int) -> None:
    recording = add(notebook, clarinet)
    work(notebook, recording)
    with notebook.database.writing() as session:
        session.get_one(LongRecording, recording).state = "splitting"
    work(notebook, recording)
    assert len(segments_of(notebook, recording)) == len(PLAYED)


def test_progress_is_noted_and_only_grows(
    notebook: Notebook, clarinet: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    recording = add(notebook, clarinet)
    shares: list[float] = []
    real = splitting.find_notes

    def listen(sound: Recording, report: Report) -> list[Segment]:
        def note(share: float) -> None:
            report(share)
            shares.append(find_recording(notebook, recording).done_share)

        return real(sound, note)

    monkeypatch.setattr(splitting, "find_notes", listen)
    work(notebook, recording)
    assert shares == sorted(shares)
    assert len(set(shares)) > 2


def test_what_cannot_be_decoded_says_so_and_can_be_tried_again(
    notebook: Notebook, clarinet: int
) -> None:
    recording = add(notebook, clarinet, silent_wav()[:40])
    work(notebook, recording)
    failed = find_recording(notebook, recording)
    assert failed.state == "failed"
    assert failed.problem
    assert find_unfinished(notebook) == ()
    try_again(notebook, recording)
    assert find_unfinished(notebook) == (recording,)


def test_something_unforeseen_is_said_in_words_and_logged(
    notebook: Notebook,
    clarinet: int,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    recording = add(notebook, clarinet)

    def fail(*_: object) -> None:
        raise ZeroDivisionError("secret")

    monkeypatch.setattr(splitting, "find_notes", fail)
    work(notebook, recording)
    problem = find_recording(notebook, recording).problem
    assert "unforeseen" in problem
    assert "secret" not in problem
    assert "secret" in caplog.text


def test_silence_has_no_notes(notebook: Notebook, clarinet: int) -> None:
    recording = add(notebook, clarinet, silent_wav(2.0))
    work(notebook, recording)
    assert open_recording(notebook, recording, Wish()).found == ()


def test_a_fingering_of_another_instrument_is_refused_and_nothing_changes(
    notebook: Notebook, clarinet: int
) -> None:
    other = log(notebook, add_clarinet(notebook, "Another"), "D5 -50", "T R 123 | 12-")
    recording = add(notebook, clarinet)
    work(notebook, recording)
    found = segments_of(notebook, recording)
    for choice in (str(other), "999", "nonsense", "9" * 30):
        with pytest.raises(Refused, match="not among those of this instrument"):
            assign_notes(notebook, recording, {found[0].id: DISCARD, found[1].id: choice})
    assert not any(each.is_discarded for each in segments_of(notebook, recording))


def test_a_discarded_note_can_be_taken_up_again(notebook: Notebook, clarinet: int) -> None:
    recording = add(notebook, clarinet)
    work(notebook, recording)
    first = segments_of(notebook, recording)[0]
    assign_notes(notebook, recording, {first.id: DISCARD})
    assert segments_of(notebook, recording)[0].is_discarded
    assign_notes(notebook, recording, {first.id: ""})
    assert not segments_of(notebook, recording)[0].is_discarded


def test_nothing_is_chosen_while_the_work_goes_on(notebook: Notebook, clarinet: int) -> None:
    recording = add(notebook, clarinet)
    with pytest.raises(Refused, match="still being worked on"):
        assign_notes(notebook, recording, {})


def test_the_same_recording_twice_and_no_recording_are_refused(
    notebook: Notebook, clarinet: int
) -> None:
    add(notebook, clarinet)
    with pytest.raises(Refused, match="already"):
        add(notebook, clarinet)
    with pytest.raises(ClipRefused):
        add(notebook, clarinet, b"Dear reader")
    assert len(list_recordings(notebook, clarinet)) == 1
    assert len(notebook.clips.names()) == 1


def test_a_recording_goes_through_the_bin_and_its_takes_stay(
    notebook: Notebook, clarinet: int, fingerings: dict[str, int]
) -> None:
    recording = add(notebook, clarinet)
    work(notebook, recording)
    first = segments_of(notebook, recording)[0]
    assign_notes(notebook, recording, {first.id: str(fingerings["D5 -50"])})
    work(notebook, recording)
    put_in_bin(notebook, "recording", recording)
    assert list_recordings(notebook, clarinet) == ()
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        find_recording(notebook, recording)
    assert restore(notebook, "recording", recording)
    put_in_bin(notebook, "recording", recording)
    assert empty_bin(notebook) == 1
    report = check_clips(notebook)
    assert (report.is_sound, report.checked) == (True, 1)


def test_a_trill_is_one_note_with_its_pitches_and_is_kept_unsorted(
    notebook: Notebook, clarinet: int
) -> None:
    pitches = [262.0, *(392.0 * 2 ** (at % 2 / 6) for at in range(14)), 330.0]
    lengths_s = [1.0, *[1 / 14] * 14, 1.0]
    played = [
        Played(hz, length_s, 0.0 if 1 < at < 15 else 0.4)
        for at, (hz, length_s) in enumerate(zip(pitches, lengths_s, strict=True))
    ]
    recording = add(notebook, clarinet, wav_bytes(play(played, snr_db=45.0), PLAY_RATE_HZ))
    work(notebook, recording)

    _, trill, _ = open_recording(notebook, recording, Wish()).found
    assert (trill.segment.verdict, trill.sounding, trill.proposed_id) == ("trill", None, None)
    assert trill.alternating is not None
    low, high = trill.alternating
    assert low.interval_to(high) == pytest.approx(200, abs=10)
    assert trill.segment.rate_hz == pytest.approx(7.0, rel=0.1)

    assert assign_notes(notebook, recording, {trill.segment.id: UNSORTED}) == 1
    work(notebook, recording)
    (kept,) = list_unsorted(notebook, clarinet).takes
    assert kept.take.measurement.verdict == "trill"
    assert segments_of(notebook, recording)[1].take_id == kept.take.id
