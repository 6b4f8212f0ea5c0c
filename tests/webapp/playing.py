"""A made-up evening: several notes one after the other, in one sound file; and a practice of it."""

import threading
from collections.abc import Sequence
from io import BytesIO

import numpy as np

from analysis.pitch import NoteNames
from tests.analysis.recording.tones import Tone
from tests.webapp.tones import RATE_HZ, tone_wav, wav_bytes
from webapp.notebook.practice.practice import (
    PracticeDraft,
    end_practice,
    start_practice,
)
from webapp.notebook.practice.practice_targets import load_targets
from webapp.notebook.practice.tuning_notes import attach_tuning_note
from webapp.notebook.recordings.recordings import add_recording
from webapp.notebook.recordings.splitting import work_on
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import PracticeTarget
from webapp.notebook.takes.takes import TakeNote

NOTE_S = 0.9
SILENCE_S = 0.5


def evening_wav(frequencies_hz: Sequence[float], *, seed: int = 40) -> bytes:
    """Clarinet-like tones of known pitches with silence between them."""
    silence = np.zeros(round(SILENCE_S * RATE_HZ))
    parts = [silence]
    for number, f0_hz in enumerate(frequencies_hz):
        tone = Tone(f0_hz, duration_s=NOTE_S, sample_rate_hz=RATE_HZ, seed=seed + number)
        parts += [np.asarray(tone.render()), silence]
    return wav_bytes(np.concatenate(parts))


def sounding_hz(written_cents: float, *, a4_hz: float = 440.0) -> float:
    """What a B-flat soprano sounds: two semitones below what is written (equal temperament)."""
    return float(a4_hz * 2 ** ((written_cents - 200 - 6900) / 1200))


def listed(notebook: Notebook, practice_id: int) -> tuple[PracticeTarget, ...]:
    """What is on the list of a practice, in its order."""
    with notebook.database.reading() as session:
        return load_targets(session, practice_id)


def practise(notebook: Notebook, instrument_id: int, frequencies_hz: Sequence[float]) -> int:
    """Hold a practice with a recorded tuning note (a written B3 of 220 Hz); return its number."""
    practice = start_practice(notebook, instrument_id, PracticeDraft(440.0, 19.0, "For tests."))
    sound = BytesIO(tone_wav(220.0 * 2 ** (-4 / 1200), 0.8, seed=4))
    attach_tuning_note(
        notebook,
        practice,
        sound,
        written="B3",
        original_name="tuning.wav",
        names=NoteNames.ENGLISH,
    )
    note = TakeNote(original_name="evening.wav")
    recording = add_recording(notebook, instrument_id, BytesIO(evening_wav(frequencies_hz)), note)
    work_on(notebook, recording, stop=threading.Event())
    end_practice(notebook, practice)
    return practice
