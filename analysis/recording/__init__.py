"""Recordings of held notes: decode a clip, split it, measure takes, pool several takes.

The way through: `decode_clip` (untrusted file to samples, in a child process), `measure_take`
(samples to `TakeMeasurement`, pure), `explain` (its verdict in one sentence), `pool_takes`
(several offsets to one figure). A recording of several notes goes through `split_takes`,
`measure_spans` and `propose_by_pitch`.
"""

from typing import TYPE_CHECKING

from analysis.late_names import late_names

if TYPE_CHECKING:
    from analysis.recording.clip import measure_clip, measure_recording
    from analysis.recording.comparing import DynamicShift, compare_dynamics, relative_offset
    from analysis.recording.decode import Recording, decode_clip, start_spare
    from analysis.recording.errors import (
        ClipTooLarge,
        ClipTooLong,
        DecoderFault,
        DecoderMissing,
        DecodingTookTooLong,
        EmptyClip,
        NothingToPool,
        RecordingError,
        UnreadableClip,
        UnreadableMeasurement,
        UnsupportedFormat,
    )
    from analysis.recording.explanations import explain, explain_warning
    from analysis.recording.formats import ACCEPTED_FORMATS, ClipFormat, sniff_format
    from analysis.recording.measurement import (
        METHOD_VERSION,
        Alternation,
        Component,
        Partial,
        PitchTrace,
        Spectrum,
        TakeMeasurement,
        TakeWarning,
        Verdict,
        Vibrato,
    )
    from analysis.recording.measurement_json import read_measurement, write_measurement
    from analysis.recording.pooling import (
        PooledColour,
        PooledOffset,
        TakeOffset,
        pool_colour,
        pool_takes,
    )
    from analysis.recording.splitting import (
        MeasuredSpan,
        TakeSpan,
        cut_span,
        measure_spans,
        split_takes,
    )
    from analysis.recording.take import measure_take
    from analysis.recording.take_selection import (
        GROUP_CENTS,
        OTHER_NOTES,
        Expectation,
        TakeReading,
        TakeStanding,
        asks_the_tube,
        select_takes,
    )
    from analysis.recording.target_matching import NoProposal, Proposal, propose_by_pitch
    from analysis.recording.verdicts import find_reference_warnings

__all__ = [
    "ACCEPTED_FORMATS",
    "GROUP_CENTS",
    "METHOD_VERSION",
    "OTHER_NOTES",
    "Alternation",
    "ClipFormat",
    "ClipTooLarge",
    "ClipTooLong",
    "Component",
    "DecoderFault",
    "DecoderMissing",
    "DecodingTookTooLong",
    "DynamicShift",
    "EmptyClip",
    "Expectation",
    "MeasuredSpan",
    "NoProposal",
    "NothingToPool",
    "Partial",
    "PitchTrace",
    "PooledColour",
    "PooledOffset",
    "Proposal",
    "Recording",
    "RecordingError",
    "Spectrum",
    "TakeMeasurement",
    "TakeOffset",
    "TakeReading",
    "TakeSpan",
    "TakeStanding",
    "TakeWarning",
    "UnreadableClip",
    "UnreadableMeasurement",
    "UnsupportedFormat",
    "Verdict",
    "Vibrato",
    "asks_the_tube",
    "compare_dynamics",
    "cut_span",
    "decode_clip",
    "explain",
    "explain_warning",
    "find_reference_warnings",
    "measure_clip",
    "measure_recording",
    "measure_spans",
    "measure_take",
    "pool_colour",
    "pool_takes",
    "propose_by_pitch",
    "read_measurement",
    "relative_offset",
    "select_takes",
    "sniff_format",
    "split_takes",
    "start_spare",
    "write_measurement",
]
__getattr__ = late_names(__name__, __file__)
