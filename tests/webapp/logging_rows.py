"""Short ways to put instruments, fingerings and takes into a notebook. All of it is invented."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, replace
from io import BytesIO
from typing import Any

import pytest

from analysis.finder import Strategy
from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import NoteNames
from analysis.recording import TakeMeasurement, Verdict
from tests.webapp.playing import practise
from tests.webapp.receiving import receive
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.fingerings.fingerings import FingeringDraft, log_fingering
from webapp.notebook.instruments.instruments import InstrumentDraft, add_instrument
from webapp.notebook.instruments.layouts import add_layout, propose_layout
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes import takes

ENGLISH = NoteNames.ENGLISH
SOPRANO = "soprano-17-6"


def add_clarinet(notebook: Notebook, name: str = "B-flat", **changes: Any) -> int:
    """Add a B-flat soprano at A = 440, unless told otherwise."""
    return add_instrument(notebook, clarinet(name, **changes))


def clarinet(name: str = "B-flat", **changes: Any) -> InstrumentDraft:
    """Describe a B-flat soprano at A = 440, unless told otherwise."""
    facts: dict[str, Any] = {
        "kind_id": "b-flat-soprano",
        "layout_id": SOPRANO,
        "tuning_a_hz": 440.0,
        **changes,
    }
    return InstrumentDraft(name=name, **facts)


def draft(
    target: str = "D quarter-flat 5",
    keys: str = "T R 123 | 123",
    *,
    layout_id: str = SOPRANO,
    **changes: Any,
) -> FingeringDraft:
    """Describe a fingering by its text form."""
    facts: dict[str, Any] = {"strategy": Strategy.FOUND, **changes}
    states = parse_fingering(keys, load_layout(layout_id))
    return FingeringDraft(keys=states, target=target, **facts)


def log(notebook: Notebook, instrument_id: int, target: str, keys: str, **changes: Any) -> int:
    """Log a fingering by its text form."""
    wanted = draft(target, keys, **changes)
    return log_fingering(notebook, instrument_id, wanted, names=ENGLISH)


def attach(notebook: Notebook, fingering_id: int, sound: bytes, **note: Any) -> int:
    """Attach a real recording: hashed, decoded and measured as in the pages."""
    facts = takes.TakeNote(**note)
    return takes.attach_take(notebook, fingering_id, BytesIO(sound), facts)


class TakeMaker:
    """Attaches takes whose measurement is stated, so that a test needs no sound.

    Everything but decoding and measuring is the real way of a take.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._monkeypatch = monkeypatch

    def __call__(
        self,
        notebook: Notebook,
        fingering_id: int,
        f0_hz: float | None,
        *,
        uncertainty_cents: float = 0.5,
        verdict: Verdict = Verdict.OK,
        sound: bytes | None = None,
        more: Mapping[str, Any] | None = None,
        **note: Any,
    ) -> int:
        """Attach a take of a known pitch, or of a verdict without one; `more` was measured too."""
        measurement = TakeMeasurement(
            verdict=verdict,
            duration_s=1.0,
            f0_hz=f0_hz,
            f0_uncertainty_cents=None if f0_hz is None else uncertainty_cents,
            spread_cents=None if f0_hz is None else 1.0,
            drift_cents_per_s=None if f0_hz is None else 0.0,
            steady_from_s=None if f0_hz is None else 0.1,
            steady_to_s=None if f0_hz is None else 0.9,
        )
        measurement = replace(measurement, **(more or {}))
        with self._monkeypatch.context() as patched:
            patched.setattr(takes, "measure_staged", lambda *_: ("wav", measurement))
            return attach(notebook, fingering_id, sound or secrets.token_bytes(64), **note)


@dataclass(frozen=True)
class Filled:
    """The numbers of the rows in the filled notebook."""

    soprano: int
    bass: int
    base: int
    child: int
    grandchild: int
    half_hole: int
    silent: int
    on_bass: int
    take: int
    noise_take: int
    binned_instrument: int
    binned_fingering: int
    binned_take: int
    own_layout: str = ""
    practice: int = 0
    recording: int = 0
    strange_take: int = 0
    unsorted_take: int = 0
    sender: int = 0


def fill(notebook: Notebook) -> Filled:
    """Fill a notebook with a bit of everything."""
    soprano = add_clarinet(
        notebook, "Invented B-flat", mouthpiece="open, invented", reed="3", notes="For tests."
    )
    bass = add_clarinet(
        notebook, "Invented bass", kind_id="b-flat-bass-bass-clef", layout_id="bass-low-eb"
    )
    base = log(
        notebook,
        soprano,
        "C#5 +25",
        "T R 123 | 123 | right F#",
        base="ordinary:C#5:1",
        strategy=Strategy.RAISED,
        resistance=2,
        notes="First of its line.",
        tags=("soft", "slow"),
    )
    child = log(
        notebook,
        soprano,
        "C#5 +40",
        "T R 123 | 12- | right F#",
        base=f"logged:{base}",
        strategy=Strategy.COMBINATION,
        resistance=4,
        resistance_notes="stuffy",
    )
    grandchild = log(
        notebook,
        soprano,
        "D5 -50",
        "T R 123 | 1-- | right F#",
        base=f"logged:{child}",
    )
    half_hole = log(notebook, soprano, "A5 +50", "T R 1(2)- | ---", resistance=5)
    silent = log(notebook, soprano, "E4 +50", "T 12- | --3", does_not_speak=True)
    on_bass = log(notebook, bass, "G3 +50", "T 1-- | 1--", layout_id="bass-low-eb")
    binned_fingering = log(notebook, soprano, "G4 +50", "--- | 1--")
    binned_instrument = add_clarinet(notebook, "Invented, sold")
    # C#5 +25 sounds two semitones lower on a B-flat soprano: B4 +25, (7100 + 25 - 6900) / 1200
    # octaves above A4 = 440 Hz (closed formula).
    target_hz = 440 * 2 ** (225 / 1200)
    take = attach(
        notebook,
        base,
        tone_wav(target_hz * 2 ** (10 / 1200)),
        original_name="held note.wav",
        dynamic="mf",
        air_temperature_c=21.5,
    )
    noise_take = attach(notebook, base, noise_wav(), original_name="breath.wav")
    binned_take = attach(notebook, child, tone_wav(target_hz, seed=2))
    # D5 -50 sounds B4 +50, 250 above A4; this one sounded a twelfth lower, and waits for a word.
    strange_take = attach(notebook, grandchild, tone_wav(440 * 2 ** ((250 - 1902) / 1200), seed=5))
    unsorted_take = takes.attach_unsorted(
        notebook,
        soprano,
        BytesIO(tone_wav(target_hz * 2 ** (3 / 1200), seed=6)),
        takes.TakeNote(is_watched=True),
    )
    own_layout = add_layout(notebook, propose_layout(notebook, "soprano-german"))
    put_in_bin(notebook, "take", binned_take)
    put_in_bin(notebook, "fingering", binned_fingering)
    put_in_bin(notebook, "instrument", binned_instrument)
    return Filled(
        soprano,
        bass,
        base,
        child,
        grandchild,
        half_hole,
        silent,
        on_bass,
        take,
        noise_take,
        binned_instrument,
        binned_fingering,
        binned_take,
        own_layout,
        practise(notebook, bass, (180.0, 311.0)),
        recording=1,
        strange_take=strange_take,
        unsorted_take=unsorted_take,
        sender=receive(notebook, soprano, base),
    )
