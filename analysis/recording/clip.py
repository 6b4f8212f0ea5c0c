"""Decode and measure a clip: the one way from an untrusted file to its measurement."""

from __future__ import annotations

from pathlib import Path

from analysis.recording.decode import Recording, decode_clip
from analysis.recording.measurement import TakeMeasurement
from analysis.recording.take import measure_take


def measure_clip(path: Path, *, expected_f0_hz: float | None = None) -> TakeMeasurement:
    """Decode a clip and measure the take in it.

    Args:
        path: a file of an accepted format.
        expected_f0_hz: what should sound, in Hz; it only adds warnings and never moves the result.

    Returns:
        The measurement, with what decoding had to warn of.

    Raises:
        RecordingError: the file can't be decoded; the class says why.
        OSError: the file can't be opened.
    """
    return measure_recording(decode_clip(path), expected_f0_hz=expected_f0_hz)


def measure_recording(
    recording: Recording, *, expected_f0_hz: float | None = None
) -> TakeMeasurement:
    """Measure the take in a decoded clip; the arguments and the result as of `measure_clip`."""
    measurement = measure_take(
        recording.samples, recording.sample_rate_hz, expected_f0_hz=expected_f0_hz
    )
    return measurement.with_warnings(*recording.warnings)
