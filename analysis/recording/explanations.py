"""Sentences for verdicts and warnings: one calm one each, what was found, what to do."""

from __future__ import annotations

from analysis.recording.measurement import MIN_TONE_S, TakeMeasurement, TakeWarning, Verdict

_VERDICTS = {
    Verdict.OK: "The pitch is steady.",
    Verdict.SILENCE: "This clip is silent: check that the microphone was on and record it again.",
    Verdict.TOO_QUIET: (
        "This clip is too quiet to hold a tone: turn the input level up, or move closer to the"
        " microphone, and record it again."
    ),
    Verdict.NOISE: (
        "This clip holds noise but no tone:"
        " move closer to the microphone, or to a quieter room, and record it again."
    ),
    Verdict.SPEECH: (
        "This sounds like someone talking rather than a held note:"
        " record the note alone, or split the recording if a note is in it."
    ),
    Verdict.NO_STEADY_PITCH: (
        "This clip has sound, but no pitch that holds still long enough to measure:"
        " record one note, held evenly."
    ),
    Verdict.BEND_OR_GLISSANDO: (
        "The pitch slides all the time, so there is no one pitch to name:"
        " keep it if a bend or a glissando is what you want, or else record one note, held evenly."
    ),
    Verdict.NO_CLEAR_PITCH: (
        "What sounds here fits no one pitch, as with a gong or with several notes at once:"
        " record one note alone, held evenly."
    ),
    Verdict.UNREADABLE: (
        "The samples in this clip are damaged, so nothing was measured: export or record it again."
    ),
}
_WARNINGS = {
    TakeWarning.OVERDRIVEN: (
        "The sound is cut off most of the time, which leaves little of the note:"
        " turn the input down or move away, and record it again."
    ),
    TakeWarning.LOST_SOUND: (
        "A piece of the sound is missing inside the note, as when a device was too busy:"
        " record it again."
    ),
    TakeWarning.CLIPPED: (
        "The recording was too loud and is clipped: the pitch still stands, the brightness less so,"
        " and the input level should be turned down next time."
    ),
    TakeWarning.TOO_QUIET: (
        "The recording is very quiet, so the pitch is less certain:"
        " turn the input level up or move closer."
    ),
    TakeWarning.TWO_NOTES: (
        "The take seems to hold more than one note, and the longest was measured:"
        " record one note per take if that is not the one you meant."
    ),
    TakeWarning.BENT: (
        "The pitch moves a good deal while the note is held:"
        " if that was not meant, record it again without bending."
    ),
    TakeWarning.MAINS_HUM: (
        "This looks like hum from the mains rather than a played note:"
        " unplug the charger or move the cable, and record it again."
    ),
    TakeWarning.OTHER_REGISTER: (
        "It sounds an octave, a twelfth or more away from the note it was meant for:"
        " if it overblew or did not speak, record it again, or else change the note."
    ),
    TakeWarning.OTHER_NOTE: (
        "What sounds is a semitone or more from the note it was meant for:"
        " if this is another fingering, move the take to that one."
    ),
    TakeWarning.NEARER_TO_ANOTHER: (
        "What sounds lies a quarter tone or so from the note it was meant for, nearer to another:"
        " if this is what the fingering gives, move the take there, or else record it again."
    ),
    TakeWarning.SHORT: (
        "The note is short, so its pitch is less certain:"
        " hold it a little longer if the fingering allows."
    ),
    TakeWarning.FLUTTER_TONGUE: (
        "This note is flutter-tongued, so its pitch is less certain:"
        " record it plain to compare it with other takes."
    ),
    TakeWarning.TRUNCATED: (
        "The file breaks off before its end and was measured up to there:"
        " export it again if something is missing."
    ),
    TakeWarning.NO_TUNING_REFERENCE: (
        "This session has no usable tuning note, so cents are counted from the tuning A alone:"
        " record one, and what the day did is taken out."
    ),
}


def explain(measurement: TakeMeasurement) -> str:
    """One sentence on the verdict, with what to do when the take can't be used.

    >>> explain(TakeMeasurement(Verdict.SILENCE, duration_s=2.0))
    'This clip is silent: check that the microphone was on and record it again.'
    """
    if measurement.verdict is Verdict.TOO_SHORT:
        return _explain_too_short(measurement)
    if measurement.verdict is Verdict.MULTIPHONIC:
        return _explain_multiphonic(measurement)
    if measurement.verdict in (Verdict.TRILL, Verdict.TREMOLO):
        return _explain_alternation(measurement)
    return _VERDICTS[measurement.verdict]


def _explain_too_short(measurement: TakeMeasurement) -> str:
    if measurement.steady_from_s is None or measurement.steady_to_s is None:
        held_s = measurement.duration_s
    else:
        held_s = measurement.steady_to_s - measurement.steady_from_s
    # rounded down, so that 0.179 s is not told to be the 0.18 s that is asked for
    shown_s = int(held_s * 100 + 1e-6) / 100
    return (
        f"This clip holds {shown_s:.2f} s of tone and pitch needs at least {MIN_TONE_S} s:"
        " record it again a little longer."
    )


def _explain_multiphonic(measurement: TakeMeasurement) -> str:
    notes = " and ".join(f"{component.f0_hz:.1f} Hz" for component in measurement.components)
    named = f" ({notes})" if notes else ""
    return (
        f"Several notes sound at once{named}, so there is no one pitch:"
        " keep it if a multiphonic is what you want, or else record a single note."
    )


def _explain_alternation(measurement: TakeMeasurement) -> str:
    found = measurement.alternation
    named = ""
    if found is not None:
        named = (
            f" between {found.low_hz:.1f} Hz and {found.high_hz:.1f} Hz,"
            f" {found.rate_hz:.1f} times a second"
        )
    return (
        f"This is a {measurement.verdict.value}{named}, so there is no one pitch:"
        " keep it if that is what you want, or else record one of the notes alone."
    )


def explain_warning(warning: TakeWarning) -> str:
    """One sentence on a warning, with what to do.

    >>> explain_warning(TakeWarning.TOO_QUIET).startswith("The recording is very quiet")
    True
    """
    return _WARNINGS[warning]
