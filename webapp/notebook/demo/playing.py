"""Playing of the invented player: from a logged take to the tone of its clip.

Louder is brighter, a resistant fingering is duller and comes later (common practice, from memory).
The pitch is neither's business: it is the target moved by the take's own offset.
"""

import zlib

from analysis.pitch import SoundingPitch, Tuning
from webapp.notebook.demo.story import DemoFingering, DemoInstrument, DemoTake
from webapp.notebook.demo.tone import Tone, encode_wav, make_silence, synthesise

SILENT_S = 1.5
LEVEL_DB = {"pp": -34.0, "p": -29.0, "mp": -26.0, "mf": -23.0, "f": -19.0, "ff": -16.0}
EDGE_PER_CUTOFF = {"pp": 0.35, "p": 0.42, "mp": 0.5, "mf": 0.58, "f": 0.75, "ff": 0.95}
USUAL_DYNAMIC = "mf"
USUAL_RESISTANCE = 2
DULLING = 0.88


def play_take(
    take: DemoTake,
    fingering: DemoFingering,
    instrument: DemoInstrument,
    *,
    target: SoundingPitch,
) -> bytes:
    """Return the clip of a take as the bytes of a WAV file; the same take gives the same bytes."""
    seed = zlib.crc32(f"{fingering.name} {take.at.isoformat()}".encode())
    if take.is_silent:
        return encode_wav(make_silence(SILENT_S, seed))
    dynamic = take.dynamic or USUAL_DYNAMIC
    resistance = fingering.resistance or USUAL_RESISTANCE
    edge_hz = instrument.tone_cutoff_hz * EDGE_PER_CUTOFF[dynamic] * DULLING**resistance
    tone = Tone(
        f0_hz=find_f0_hz(take, target, instrument.tuning_a_hz),
        held_s=1.5 + seed % 7 / 10,
        cutoff_hz=instrument.tone_cutoff_hz,
        edge_hz=edge_hz,
        rms=10 ** (LEVEL_DB[dynamic] / 20),
        breath_db=-52.0 + 3.0 * resistance,
        attack_s=0.03 + 0.02 * resistance,
        vibrato_cents=take.vibrato_cents,
        vibrato_hz=take.vibrato_hz,
        seed=seed,
    )
    return encode_wav(synthesise(tone))


def find_f0_hz(take: DemoTake, target: SoundingPitch, tuning_a_hz: float) -> float:
    """Return the pitch that a take is made with: its target, moved by its offset."""
    return SoundingPitch(target.cents + take.offset_cents).hz(Tuning(tuning_a_hz))
