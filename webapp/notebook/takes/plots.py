"""Data of a take's plots: levels over time and frequency, pitch trace, spectrum, components."""

import math
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from analysis.pitch import (
    NoteNames,
    SoundingPitch,
    Transposition,
    Tuning,
    WrittenPitch,
    format_pitch,
)
from analysis.recording import Recording, TakeMeasurement, TakeWarning, decode_clip
from analysis.recording.spectrogram import View, find_levels
from webapp.drawing.levels import NoteTick, ink_levels
from webapp.drawing.png import write_grey_png
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument, Take
from webapp.notebook.takes.likeness import nearest_written
from webapp.notebook.takes.takes import TakePage, find_clip, open_take

_CENTS_PER_OCTAVE = 1200
_MOST_NOTES = 9
_HIGHEST_NAMED_CENTS = 11_900  # B9: above it a note has no written name
_NOTE_STEPS_CENTS = (100, 200, 300, 400, 600, 1200)
Row = tuple[float | int | str | None, ...]


@dataclass(frozen=True, slots=True)
class ComponentNote:
    """One of the notes of a multiphonic: the nearest quarter tone as written, and how far off."""

    written: WrittenPitch
    off_cents: float
    f0_hz: float
    level_db: float


@lru_cache(maxsize=1)
def _decode(path: Path, sha256: str) -> Recording:
    """Decode a clip; the last one is kept, since a player who zooms asks for it again and again."""
    del sha256  # names what is at the path
    return decode_clip(path)


def paint_levels(notebook: Notebook, take_id: int, view: View) -> bytes:
    """Return the levels of a part of a take as a PNG file.

    Raises:
        NotInNotebook: there is no such take.
        ClipMissing: its file is gone.
        RecordingError: it cannot be decoded.
    """
    take, path = find_clip(notebook, take_id)
    sound = _decode(path, take.sha256)
    return write_grey_png(ink_levels(find_levels(sound.samples, sound.sample_rate_hz, view)))


def list_notes(
    view: View, transposition: Transposition, tuning: Tuning, names: NoteNames
) -> tuple[NoteTick, ...]:
    """Return the written notes to name at the side of a view, low to high: few enough to read."""
    low = SoundingPitch.from_hz(view.low_hz, tuning).cents - transposition.cents
    high = SoundingPitch.from_hz(view.high_hz, tuning).cents - transposition.cents
    step = next(
        (each for each in _NOTE_STEPS_CENTS if (high - low) / each <= _MOST_NOTES),
        _CENTS_PER_OCTAVE,
    )
    first = math.ceil(low / step) * step  # C is a multiple of 1200, so octaves name every C
    ticks = []
    highest = min(math.floor(high), _HIGHEST_NAMED_CENTS)
    for written_cents in range(first, highest + 1, step):
        sounding = SoundingPitch(float(written_cents + transposition.cents))
        written = transposition.to_written(sounding)
        name = format_pitch(written, names=names, style="short")
        ticks.append(NoteTick(sounding.hz(tuning), name))
    return tuple(ticks)


def list_components(
    measurement: TakeMeasurement, take: Take, instrument: Instrument
) -> tuple[ComponentNote, ...]:
    """Return the notes of a multiphonic, low to high."""
    tuning = Tuning(take.tuning_a_hz)
    notes = []
    for each in sorted(measurement.components, key=lambda component: component.f0_hz):
        sounding = SoundingPitch.from_hz(each.f0_hz, tuning)
        written = instrument.nearest_written(sounding)
        off_cents = instrument.transposition.to_sounding(written).interval_to(sounding)
        notes.append(ComponentNote(written, off_cents, each.f0_hz, each.level_db))
    return tuple(notes)


def find_nearest_note(measurement: TakeMeasurement, page: TakePage) -> WrittenPitch | None:
    """Return the written quarter tone nearest to where a take sounds, where its warning says so."""
    if TakeWarning.NEARER_TO_ANOTHER not in measurement.warnings:
        return None
    return nearest_written(page.take, page.instrument)


def open_trace(notebook: Notebook, take_id: int) -> tuple[TakePage, TakeMeasurement]:
    """Return a take with its trace.

    Raises:
        NotInNotebook: there is no such take, or no pitch was found in it.
    """
    page = open_take(notebook, take_id)
    measured = page.take.measurement.read()
    if not measured.trace.times_s:
        raise NotInNotebook("No pitch was found in this take, so it has no trace to save.")
    return page, measured


def open_spectrum(notebook: Notebook, take_id: int) -> tuple[TakePage, TakeMeasurement]:
    """Return a take with its spectrum.

    Raises:
        NotInNotebook: there is no such take, or no pitch was found in it.
    """
    page = open_take(notebook, take_id)
    measured = page.take.measurement.read()
    if not measured.spectrum.freq_hz:
        raise NotInNotebook("No pitch was found in this take, so it has no spectrum to save.")
    return page, measured


def tabulate_trace(page: TakePage, measured: TakeMeasurement) -> list[Row]:
    """List the trace: seconds, Hz, cents from the target, whether steady, target, recording."""
    assert page.target is not None and page.written is not None  # a trace has a pitch
    target_hz = page.target.hz(Tuning(page.take.tuning_a_hz))
    from_s, to_s = measured.steady_from_s, measured.steady_to_s
    return [
        (
            time_s,
            f0_hz,
            round(_CENTS_PER_OCTAVE * math.log2(f0_hz / target_hz), 3),
            "yes" if from_s is not None and to_s is not None and from_s <= time_s <= to_s else "no",
            page.written.canonical,
            page.take.original_name,
        )
        for time_s, f0_hz in zip(measured.trace.times_s, measured.trace.f0_hz, strict=True)
    ]


def tabulate_spectrum(page: TakePage, measured: TakeMeasurement) -> list[Row]:
    """List the partials and then the curve: what it is, number, Hz, dB, target, recording."""
    assert page.written is not None  # a spectrum has a pitch
    ending = (page.written.canonical, page.take.original_name)
    spectrum = measured.spectrum
    partials: list[Row] = [
        ("partial", each.number, each.freq_hz, each.level_db, *ending) for each in spectrum.partials
    ]
    curve: list[Row] = [
        ("curve", None, freq_hz, level_db, *ending)
        for freq_hz, level_db in zip(spectrum.freq_hz, spectrum.level_db, strict=True)
    ]
    return partials + curve
