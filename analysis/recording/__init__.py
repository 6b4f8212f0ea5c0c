"""Recordings of held notes: decode a clip, measure the take, pool several takes.

The way through: `decode_clip` (untrusted file to samples, in a child process), `measure_take`
(samples to `TakeMeasurement`, pure), `explain` (its verdict in one sentence), `pool_takes`
(several offsets to one figure).
"""

from analysis.recording.clip import measure_clip
from analysis.recording.decode import Recording, decode_clip
from analysis.recording.errors import (
    ClipTooLarge,
    ClipTooLong,
    DecodingTookTooLong,
    EmptyClip,
    NothingToPool,
    RecordingError,
    UnreadableClip,
    UnreadableMeasurement,
    UnsupportedFormat,
)
from analysis.recording.formats import ACCEPTED_FORMATS, ClipFormat, sniff_format
from analysis.recording.measurement import (
    METHOD_VERSION,
    Partial,
    PitchTrace,
    Spectrum,
    TakeMeasurement,
    TakeWarning,
    Verdict,
    Vibrato,
)
from analysis.recording.pooling import PooledOffset, TakeOffset, pool_takes
from analysis.recording.take import measure_take
from analysis.recording.wording import explain, explain_warning

__all__ = [
    "ACCEPTED_FORMATS",
    "METHOD_VERSION",
    "ClipFormat",
    "ClipTooLarge",
    "ClipTooLong",
    "DecodingTookTooLong",
    "EmptyClip",
    "NothingToPool",
    "Partial",
    "PitchTrace",
    "PooledOffset",
    "Recording",
    "RecordingError",
    "Spectrum",
    "TakeMeasurement",
    "TakeOffset",
    "TakeWarning",
    "UnreadableClip",
    "UnreadableMeasurement",
    "UnsupportedFormat",
    "Verdict",
    "Vibrato",
    "decode_clip",
    "explain",
    "explain_warning",
    "measure_clip",
    "measure_take",
    "pool_takes",
    "sniff_format",
]
