"""A sound file that has just come in: its format by what is in it, and its measurement."""

import logging

from analysis.errors import AnalysisError
from analysis.recording import (
    DecoderFault,
    TakeMeasurement,
    decode_clip,
    measure_recording,
    sniff_format,
)
from webapp.notebook.store.clips import StagedClip
from webapp.notebook.store.errors import ClipRefused, ClipUnmeasured, NoteTooLong

_LOG = logging.getLogger("quartervent")
_SNIFFED_BYTES = 4096
# What is longer takes more than about a second to measure; a note cut by the page has 30 s.
LONGEST_WAITED_FOR_S = 60.0


def sniff_staged(staged: StagedClip) -> str:
    """Return the format of a file.

    Raises:
        ClipRefused: it is no recording of an accepted format.
    """
    try:
        with staged.path.open("rb") as file:
            return sniff_format(file.read(_SNIFFED_BYTES)).value
    except AnalysisError as error:
        raise ClipRefused(str(error)) from error


def measure_staged(
    staged: StagedClip, target_hz: float | None, longest_s: float | None = None
) -> tuple[str, TakeMeasurement]:
    """Return the format of a file and what was measured in it, a note of about `target_hz`.

    Raises:
        NoteTooLong: it lasts longer than `longest_s`; nothing was measured.
        ClipRefused: it is no recording of an accepted format, or cannot be decoded.
        ClipUnmeasured: this program failed; the file may be sound.
    """
    clip_format = sniff_staged(staged)
    try:
        recording = decode_clip(staged.path)
        if longest_s is not None and recording.duration_s > longest_s:
            raise NoteTooLong(recording.duration_s, longest_s)
        return clip_format, measure_recording(recording, expected_f0_hz=target_hz)
    except DecoderFault as error:
        _LOG.exception("a clip could not be measured")
        raise ClipUnmeasured(str(error)) from error
    except AnalysisError as error:
        raise ClipRefused(str(error)) from error
