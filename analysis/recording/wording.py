"""Verdicts and warnings as one calm sentence for the player: what was found, what to do."""

from __future__ import annotations

from analysis.recording.judging import MIN_TONE_S
from analysis.recording.measurement import TakeMeasurement, TakeWarning, Verdict

_VERDICTS = {
    Verdict.OK: "This take has a steady pitch and can stand as evidence.",
    Verdict.SILENCE: "This clip is silent. Check that the microphone was on and record it again.",
    Verdict.NOISE: (
        "This clip holds noise but no tone."
        " Move closer to the microphone, or to a quieter room, and record it again."
    ),
    Verdict.NO_STEADY_PITCH: (
        "This clip has sound, but no pitch that holds still long enough to measure."
        " Record one note, held evenly."
    ),
    Verdict.UNREADABLE: (
        "The samples in this clip are damaged, so nothing was measured. Export or record it again."
    ),
}
_WARNINGS = {
    TakeWarning.CLIPPED: (
        "The recording was too loud and is clipped: the pitch still stands, the brightness less so."
        " Turn the input level down next time."
    ),
    TakeWarning.TOO_QUIET: (
        "The recording is very quiet, so the pitch is less certain."
        " Turn the input level up or move closer."
    ),
    TakeWarning.TWO_NOTES: (
        "The take seems to hold more than one note; the longest one was measured."
        " Record one note per take if that is not the one you meant."
    ),
    TakeWarning.BENT: (
        "The pitch moves a good deal while the note is held."
        " If that was not meant, record it again without bending."
    ),
    TakeWarning.MAINS_HUM: (
        "This looks like hum from the mains rather than a played note."
        " Unplug the charger or move the cable, and record it again."
    ),
    TakeWarning.OTHER_REGISTER: (
        "The note sounds an octave, a twelfth or more away from the target."
        " Check that it did not overblow, or change the target."
    ),
    TakeWarning.OTHER_NOTE: (
        "The note is more than a semitone from the target."
        " Check that this take belongs to this fingering."
    ),
    TakeWarning.TRUNCATED: (
        "The file breaks off before its end; what was there has been measured."
        " Export it again if something is missing."
    ),
}


def explain(measurement: TakeMeasurement) -> str:
    """One sentence on the verdict, with what to do when the take can't be used.

    >>> explain(TakeMeasurement(Verdict.SILENCE, duration_s=2.0))
    'This clip is silent. Check that the microphone was on and record it again.'
    """
    if measurement.verdict is not Verdict.TOO_SHORT:
        return _VERDICTS[measurement.verdict]
    if measurement.steady_from_s is None or measurement.steady_to_s is None:
        held_s = measurement.duration_s
    else:
        held_s = measurement.steady_to_s - measurement.steady_from_s
    # rounded down, so that 0.29 s is not told to be the 0.3 s that is asked for
    shown_s = int(held_s * 10) / 10
    return (
        f"This clip holds {shown_s:.1f} s of tone; pitch needs at least {MIN_TONE_S} s."
        " Record it again a little longer."
    )


def explain_warning(warning: TakeWarning) -> str:
    """One sentence on a warning, with what to do.

    >>> explain_warning(TakeWarning.TOO_QUIET).startswith("The recording is very quiet")
    True
    """
    return _WARNINGS[warning]
