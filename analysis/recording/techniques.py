"""Recognition of playing techniques, and of speech, where a take is no plainly held note.

The pitch contour tells, asked in this order: a trill or tremolo (`alternation`), a bend or
glissando (`glissando`), talk and single words (`speech`). A take that was measured as a plain note
is asked only where something speaks against it: it is short, moves, or comes in pieces.
"""

from __future__ import annotations

import numpy as np

from analysis.recording.alternation import FRAME_S, LOWEST_HZ, find_alternation
from analysis.recording.glissando import find_slide_s
from analysis.recording.held_notes import HeldNote
from analysis.recording.measurement import Alternation, TakeMeasurement, TakeWarning, Verdict
from analysis.recording.pitch_contour import Contour, trace_contour
from analysis.recording.samples import Samples
from analysis.recording.speech import LONGEST_SYLLABLE_S, is_speech, is_word
from analysis.recording.verdicts import SCATTERED_TONES

WIDEST_TRILL_CENTS = 330.0  # a minor third, and its give
OVERTONE_CENTS = 40.0
WIDE_VIBRATO_CENTS = 24.0
WIDE_SPREAD_CENTS = 15.0
QUICKEST_SLIDE_S = LONGEST_SYLLABLE_S


def may_be_technique(measured: TakeMeasurement, held_notes: tuple[HeldNote, ...]) -> bool:
    """Whether it is worth asking for a technique, or for talk."""
    if not measured.is_usable or len(held_notes) >= SCATTERED_TONES:
        return True
    return is_moving(measured) or _is_brief(measured)


def is_moving(measured: TakeMeasurement) -> bool:
    """Whether the pitch of a usable take moves as far as in a narrow trill."""
    assert measured.spread_cents is not None
    vibrato = measured.vibrato
    return (
        measured.spread_cents > WIDE_SPREAD_CENTS
        or TakeWarning.BENT in measured.warnings
        or (vibrato is not None and vibrato.extent_cents > WIDE_VIBRATO_CENTS)
    )


def name_alternation(
    samples: Samples, sample_rate_hz: float, contour: Contour
) -> TakeMeasurement | None:
    """The take as a trill or a tremolo; None where it is neither.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`, whose contour is given.
    """
    alternation = _find_alternation(samples, sample_rate_hz, contour)
    if alternation is None:
        return None
    is_trill = alternation.interval_cents <= WIDEST_TRILL_CENTS
    verdict = Verdict.TRILL if is_trill else Verdict.TREMOLO
    return TakeMeasurement(verdict, len(samples) / sample_rate_hz, alternation=alternation)


def is_overtone(alternation: Alternation) -> bool:
    """Whether the upper pitch is the octave, the twelfth or the double octave of the lower."""
    return any(
        abs(alternation.interval_cents - 1200 * np.log2(ratio)) < OVERTONE_CENTS
        for ratio in (2, 3, 4)
    )


def name_slide_or_speech(contour: Contour, measured: TakeMeasurement) -> TakeMeasurement | None:
    """The take as a bend or glissando, as talk or a word; None where it is none of these."""
    slide_s = find_slide_s(contour)
    if slide_s and not (slide_s < QUICKEST_SLIDE_S and is_word(contour)):
        return TakeMeasurement(Verdict.BEND_OR_GLISSANDO, measured.duration_s)
    if is_speech(contour) or is_word(contour):
        return TakeMeasurement(Verdict.SPEECH, measured.duration_s)
    return None


def _is_brief(measured: TakeMeasurement) -> bool:
    """Whether a usable take holds still for no longer than a syllable, or a slide at its end."""
    assert measured.steady_from_s is not None and measured.steady_to_s is not None
    return measured.steady_to_s - measured.steady_from_s < LONGEST_SYLLABLE_S


def _find_alternation(
    samples: Samples, sample_rate_hz: float, contour: Contour
) -> Alternation | None:
    known = contour.f0_hz[np.isfinite(contour.f0_hz)]
    if known.size and float(np.median(known)) > LOWEST_HZ:
        contour = trace_contour(samples, sample_rate_hz, frame_s=FRAME_S)
    return find_alternation(contour)
