"""The language of pitch: written and sounding, names, intervals, tuning and the clarinet family.

Written pitch is what stands on the page of one instrument; sounding pitch is what is heard. They
are two types that cannot be mixed. Heights of both are cents with A4 = 6900, and hertz appear only
together with a tuning.
"""

from analysis.pitch.accidentals import (
    AccidentalSign,
    list_just_figures,
    musicxml_accidental,
    musicxml_alter,
    nearest_accidental,
    write_accidental,
)
from analysis.pitch.divisions import QUARTER_TONES, EqualDivision
from analysis.pitch.errors import (
    AmbiguousPitch,
    PitchError,
    PitchOutOfRange,
    TuningOutOfRange,
    UnknownInstrumentKind,
    UnknownInterval,
    UnknownSignSystem,
    UnreadablePitch,
)
from analysis.pitch.family import KINDS, InstrumentKind, find_kind
from analysis.pitch.formatting import format_cents, format_pitch, name_letter
from analysis.pitch.just_intervals import JUST_INTERVALS, JustInterval, find_just_interval
from analysis.pitch.names import NoteNames, Side
from analysis.pitch.parsing import explain_fraction, parse_pitch
from analysis.pitch.registers import Register, register_bounds, register_of
from analysis.pitch.request import Frequency, JustTarget, PitchRequest, resolve_written
from analysis.pitch.sentences import Sentence
from analysis.pitch.sign_systems import SIGN_SYSTEMS, STEIN_ZIMMERMANN, SignSystem, SystemId
from analysis.pitch.signs import Sign
from analysis.pitch.sounding import SoundingPitch, Transposition
from analysis.pitch.tuning import Tuning
from analysis.pitch.written import WrittenPitch

__all__ = [
    "JUST_INTERVALS",
    "KINDS",
    "QUARTER_TONES",
    "SIGN_SYSTEMS",
    "STEIN_ZIMMERMANN",
    "AccidentalSign",
    "AmbiguousPitch",
    "EqualDivision",
    "Frequency",
    "InstrumentKind",
    "JustInterval",
    "JustTarget",
    "NoteNames",
    "PitchError",
    "PitchOutOfRange",
    "PitchRequest",
    "Register",
    "Sentence",
    "Side",
    "Sign",
    "SignSystem",
    "SoundingPitch",
    "SystemId",
    "Transposition",
    "Tuning",
    "TuningOutOfRange",
    "UnknownInstrumentKind",
    "UnknownInterval",
    "UnknownSignSystem",
    "UnreadablePitch",
    "WrittenPitch",
    "explain_fraction",
    "find_just_interval",
    "find_kind",
    "format_cents",
    "format_pitch",
    "list_just_figures",
    "musicxml_accidental",
    "musicxml_alter",
    "name_letter",
    "nearest_accidental",
    "parse_pitch",
    "register_bounds",
    "register_of",
    "resolve_written",
    "write_accidental",
]
