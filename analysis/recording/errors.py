"""Errors about recordings, one class for each thing that a player can do something about.

::

    AnalysisError
    +-- RecordingError
        +-- UnsupportedFormat      not one of the accepted kinds of sound file
        +-- EmptyClip              a file, or a sound file, with nothing in it
        +-- UnreadableClip         looks like a sound file, but can't be decoded
        +-- ClipTooLong            more sound than a take may hold
        +-- ClipTooLarge           more bytes, channels or samples a second than is accepted
        +-- DecodingTookTooLong    decoding was stopped at its time or memory limit
        +-- DecoderFault           this program failed; the clip may be sound
        |   +-- DecoderMissing     the library for such a file can't be loaded here
        +-- UnreadableMeasurement  a stored measurement this version does not understand
        +-- NothingToPool          no takes, or takes without usable numbers

A bad *take* (silence, noise, too short...) is no error: it is a measurement with a verdict.
Messages hold no path and no file name: the caller knows which file it asked about.
"""

from analysis.errors import AnalysisError


class RecordingError(AnalysisError):
    """Base of everything `analysis.recording` raises on purpose."""


class UnsupportedFormat(RecordingError):
    """The content is not one of the accepted kinds of sound file."""


class EmptyClip(RecordingError):
    """The file holds no bytes, or a sound file holds no sound."""


class UnreadableClip(RecordingError):
    """The file starts like a sound file but can't be decoded."""


class ClipTooLong(RecordingError):
    """The recording is longer than a take may be."""


class ClipTooLarge(RecordingError):
    """The file has more bytes, channels or samples a second than is accepted."""


class DecodingTookTooLong(RecordingError):
    """Decoding reached its time, processor or memory limit and was stopped."""


class DecoderFault(RecordingError):
    """Reading failed by a fault of this program, which says nothing about the clip."""


class DecoderMissing(DecoderFault):
    """The library that reads such a file can't be loaded on this computer."""


class UnreadableMeasurement(RecordingError):
    """A stored measurement is damaged or of another version."""


class NothingToPool(RecordingError):
    """Pooling was asked for without a single usable take."""
