"""Draft of a part: its notes under given settings, and all that questions are found from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from analysis.notation.transcript import PartTranscript
from analysis.score.heads import AlteredHead, HeadReading, read_heads
from analysis.score.notes import join_notes
from analysis.score.parts import PartNote
from analysis.score.settings import ReadingSettings
from analysis.score.sign_resolution import ExporterEvidence
from analysis.score.transposing import PitchMap, find_pitch_map
from analysis.score.trills import TrillReader
from analysis.score.voices import PartVoices, choose_line, find_voices


@dataclass(frozen=True, slots=True)
class PartContext:
    """Settings that hold for a whole part, for reading some bars of it as they are read in it."""

    evidence: ExporterEvidence
    voices: PartVoices


@dataclass(frozen=True, slots=True)
class DraftReading:
    """A part read as far as its notes, with all that questions are found from."""

    transcript: PartTranscript
    settings: ReadingSettings
    heads: HeadReading
    context: PartContext
    line: tuple[AlteredHead, ...]
    left: tuple[AlteredHead, ...]
    pitch_map: PitchMap
    notes: tuple[PartNote, ...]
    unwritable: tuple[int, ...]


def draft_part(
    transcript: PartTranscript, settings: ReadingSettings, context: PartContext | None = None
) -> DraftReading:
    """Read the notes of a part; `context` is that of the whole part if these are some bars."""
    heads = read_heads(transcript, settings, context.evidence if context else None)
    context = context or PartContext(heads.evidence, find_voices(transcript.notes))
    line, left = (
        choose_line(heads.heads, context.voices, settings.voice) if heads.heads else ([], [])
    )
    pitch_map = find_pitch_map(transcript, settings)
    joined = join_notes(
        line,
        bar_starts=find_bar_starts(transcript),
        pitch_map=pitch_map,
        events=transcript.events,
        trill_reader=TrillReader(settings, heads.evidence, transcript.events, pitch_map),
    )
    return DraftReading(
        transcript,
        settings,
        heads,
        context,
        tuple(line),
        tuple(left),
        pitch_map,
        tuple(joined.notes),
        tuple(joined.unwritable),
    )


def find_bar_starts(transcript: PartTranscript) -> Sequence[Fraction]:
    """Return the start of each bar, and the end, in quarter notes from the start of the part."""
    return list(accumulate((bar.length for bar in transcript.bars), initial=Fraction(0)))
