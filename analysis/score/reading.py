"""Reading of a part: a transcript and the player's settings to notes, questions and remarks."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction

from analysis.notation.instrument_names import fold_name
from analysis.notation.transcript import PartTranscript
from analysis.score.drafting import DraftReading, draft_part, find_bar_starts
from analysis.score.errors import NothingPitched
from analysis.score.parts import (
    LeftOut,
    PartBar,
    PartTempo,
    PartText,
    ScorePart,
)
from analysis.score.questions import ask
from analysis.score.seams import find_seams
from analysis.score.settings import ReadingSettings

# Words that tell how to play, in the usual languages of parts; from memory.
_TECHNIQUES = re.compile(
    r"slap|\bair\b|souffl|\bluft|hauch|aeolian|eolien|multiph|mehrklang|harmonic|harmonique"
    r"|oberton|partial|flutter|frull|flatterz|\bflz|timbr|tembre|bisbigl|colou?r|farb|key click"
    r"|klappe|cles\b|chiavi|gliss|portam|bend|teeth|dents|zahne|growl|voice|voix|stimme|sing"
    r"|smorz|subtone|lip\b|split|overblow|circular|vib|tongue ram|jet|whistle|\bord\b|ordin|\bnat\b"
)
_UNPITCHED = "a note without pitch"


def read_part(transcript: PartTranscript, settings: ReadingSettings | None = None) -> ScorePart:
    """Read a part under the player's settings.

    What the settings leave open is read as its question says, and asked. Raises `NothingPitched`
    and `UnsuitableSetting`.

    Limits: time is that of the page. Bars are not unfolded, and rubato, fermatas and swing are not
    guessed.
    """
    settings = settings or ReadingSettings()
    draft = draft_part(transcript, settings)
    if not draft.notes:
        raise NothingPitched(
            f"{_name_part(transcript)} holds no note with a pitch. Choose another part, or look "
            "whether the right file was saved."
        )
    starts = find_bar_starts(transcript)
    bars = tuple(
        PartBar(index, bar.label, start, bar.length)
        for index, (bar, start) in enumerate(zip(transcript.bars, starts, strict=False))
    )
    return ScorePart(
        number=transcript.heading.number,
        name=transcript.heading.name,
        title=transcript.title,
        composer=transcript.composer,
        settings=settings,
        segments=draft.pitch_map.segments,
        bars=bars,
        notes=draft.notes,
        seams=find_seams(draft.notes, transcript.events),
        texts=tuple(_find_texts(transcript)),
        tempos=tuple(_find_tempos(transcript, settings, starts)),
        questions=ask(draft),
        left_out=tuple(_count_left_out(draft)),
        remarks=draft.pitch_map.remarks,
    )


def _name_part(transcript: PartTranscript) -> str:
    name = transcript.heading.name
    return f"Part {transcript.heading.number} (“{name}”)" if name else "This part"


def _find_texts(transcript: PartTranscript) -> Iterable[PartText]:
    for event in transcript.events:
        if event.kind == "words":
            is_technique = bool(_TECHNIQUES.search(fold_name(event.value)))
            yield PartText(event.bar, event.onset, event.value, is_technique)
        elif event.kind == "unpitched":
            words = f"{_UNPITCHED}: {event.value}" if event.value else _UNPITCHED
            yield PartText(event.bar, event.onset, words, True)


def _find_tempos(
    transcript: PartTranscript, settings: ReadingSettings, starts: Sequence[Fraction]
) -> list[PartTempo]:
    """Tempos in the order of time; an answer counts from its bar on, over what is printed there."""
    found = {
        (event.bar, event.onset): PartTempo(
            event.bar, starts[event.bar] + event.onset, Fraction(event.value), True
        )
        for event in transcript.events
        if event.kind == "tempo" and event.bar < len(starts)
    }
    for answer in settings.tempos:
        if 0 <= answer.bar < len(transcript.bars):
            place = (answer.bar, Fraction(0))
            figure = answer.quarters_per_minute
            found[place] = PartTempo(answer.bar, starts[answer.bar], figure, False)
    return [found[place] for place in sorted(found)]


def _count_left_out(draft: DraftReading) -> Iterable[LeftOut]:
    counts = {each.kind: Counter(each.bars) for each in draft.transcript.omissions}
    if draft.left:
        counts["notes of another voice or player"] = Counter(each.head.bar for each in draft.left)
    if draft.unwritable:
        unreadable = Counter(draft.unwritable)
        counts["notes whose pitch cannot be read"] = (
            counts.get("notes whose pitch cannot be read", Counter()) + unreadable
        )
    for kind, bars in counts.items():
        yield LeftOut(kind, bars.total(), tuple(sorted(bars)))
