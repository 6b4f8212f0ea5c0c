"""Questions about a part, each asked once, with the readings that the answers lead to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from analysis.notation.instrument_names import (
    BASS_TRANSPOSITIONS,
    find_transpositions,
    is_clarinet,
    names_two_players,
)
from analysis.score.drafting import DraftReading, draft_part
from analysis.score.parts import (
    NoteFlag,
    PartQuestion,
    QuestionReading,
    QuestionTopic,
    TrillKind,
)
from analysis.score.settings import BOTTOM, TOP, ReadingSettings, SignLasts, TrillAnswer
from analysis.score.signs import ARROW_CENTS, STROKED_CENTS
from analysis.score.transposing import names_of

EXAMPLE_NOTES = 8
MOST_HEADS = 400  # of a bar without end, for an example
# What arrows add in different schools: quarter, sixth, eighth and twelfth tones, a comma (81:80).
ARROW_SIZES = (
    (Fraction(50), "a quarter tone"),
    (Fraction(100, 3), "a sixth of a tone"),
    (Fraction(25), "an eighth of a tone"),
    (Fraction(43, 2), "a comma"),
    (Fraction(50, 3), "a twelfth of a tone"),
)
_STROKED_SIZES = (
    (Fraction(50), "a quarter tone"),
    (Fraction(150), "three quarters of a tone"),
    (Fraction(25), "an eighth of a tone"),
)
_LASTING = (
    (SignLasts.BAR, "It holds through the bar."),
    (SignLasts.NOTE, "It holds for its note alone."),
    (SignLasts.REPETITIONS, "It holds for its note and immediate repetitions."),
)
_NO_SIGN = "The pitch that the file states, without the sign."
_USUAL = (-200, -300, 0)
_INSTRUMENTS = {
    300: "for E-flat clarinet", 200: "for D clarinet", 0: "for C clarinet, as it sounds",
    -200: "for B-flat clarinet", -300: "for A clarinet", -700: "for basset horn in F",
    -900: "for E-flat alto", -2100: "for E-flat contra-alto", -2600: "for B-flat contrabass",
}  # fmt: skip


def ask(draft: DraftReading) -> tuple[PartQuestion, ...]:
    """Return the questions that the settings of a draft leave open, in the order to ask them."""
    asked = (
        _ask_part(draft),
        _ask_pitch(draft),
        _ask_voice(draft),
        _ask_arrows(draft),
        _ask_stroked(draft),
        _ask_unknown(draft),
        _ask_lasting(draft),
        _ask_trills(draft),
        _ask_tempo(draft),
    )
    return tuple(each for each in asked if each is not None)


def _read_bar(
    draft: DraftReading, bar: int, answer: str, words: str, settings: ReadingSettings
) -> QuestionReading:
    """An answer, with the first notes of a bar as they would be read."""
    first_notes = draft.transcript.only_bar(bar, MOST_HEADS)
    notes = draft_part(first_notes, settings, draft.context).notes[:EXAMPLE_NOTES]
    return QuestionReading(
        answer,
        words,
        settings,
        tuple(note.written for note in notes),
        tuple(note.sounding for note in notes),
    )


def _ask_part(draft: DraftReading) -> PartQuestion | None:
    parts = draft.transcript.parts
    heading = draft.transcript.heading
    clarinets = [each for each in parts if is_clarinet(names_of(each))]
    if len(parts) == 1 or (len(clarinets) == 1 and heading in clarinets):
        return None
    readings = tuple(
        QuestionReading(str(each.number), each.name or each.id, None) for each in parts
    )
    words = f"This file has {len(parts)} parts. Which one is yours?"
    return PartQuestion(QuestionTopic.PART, words, (), readings, str(heading.number))


def _ask_pitch(draft: DraftReading) -> PartQuestion | None:
    """Written or sounding, and for which clarinet, where the file does not say."""
    settings, pitch_map = draft.settings, draft.pitch_map
    is_answered = settings.transposition_cents is not None or settings.is_sounding is False
    named = find_transpositions(names_of(draft.transcript.heading))
    is_open = not pitch_map.segments[0].is_stated and not is_answered
    if settings.is_sounding and len(named) == 1:
        is_open = False  # the name says the rest
    if not is_open:
        return None
    bar = _first_bass_bar(draft)
    readings = []
    for cents in named or _USUAL:
        kind = _tell_transposition(cents, named)
        written = replace(settings, is_sounding=False, transposition_cents=cents)
        readings.append(_read_bar(draft, bar, f"written {cents}", f"Written {kind}.", written))
    for cents in named or _USUAL:
        if cents == 0 and not pitch_map.is_sounding:
            continue  # the same as written
        kind = _tell_transposition(cents, named)
        sounding = replace(settings, is_sounding=True, transposition_cents=cents)
        words = f"What is heard; the part {kind} is worked out from it."
        readings.append(_read_bar(draft, bar, f"sounding {cents}", words, sounding))
    if pitch_map.is_sounding:
        readings = [each for each in readings if each.answer.startswith("sounding")]
    assumed = pitch_map.segments[0].transposition_cents
    return PartQuestion(
        QuestionTopic.PITCH,
        "The file does not say how the part sounds. Is it written pitch, and for which clarinet?",
        (bar,),
        tuple(readings),
        f"{'sounding' if pitch_map.is_sounding else 'written'} {assumed}",
    )


def _tell_transposition(cents: int, named: Sequence[int]) -> str:
    if named == BASS_TRANSPOSITIONS:
        kind = "treble" if cents == BASS_TRANSPOSITIONS[0] else "bass-clef"
        interval = "a ninth" if cents == BASS_TRANSPOSITIONS[0] else "a second"
        return f"for bass clarinet in {kind} notation, sounding {interval} lower"
    return _INSTRUMENTS.get(cents, f"to sound {cents:+d} cents from it")


def _first_bass_bar(draft: DraftReading) -> int:
    """The first bar with notes under a bass clef, else the first with notes."""
    clefs = [event for event in draft.transcript.events if event.kind == "clef"]
    if any(event.value.startswith("F") for event in clefs):
        at, in_force = 0, ""
        for note in draft.notes:
            while at < len(clefs) and (clefs[at].bar, clefs[at].onset) <= (note.bar, note.onset):
                in_force = clefs[at].value
                at += 1
            if in_force.startswith("F"):
                return note.bar
    return draft.notes[0].bar


def _ask_voice(draft: DraftReading) -> PartQuestion | None:
    voices = draft.context.voices
    chords = tuple(sorted({note.bar for note in draft.notes if note.chord}))
    has_two_players = names_two_players(names_of(draft.transcript.heading))
    bars = voices.together or (chords if has_two_players else ())
    if draft.settings.voice is not None or not bars:
        return None
    answers = [(TOP, "The upper player."), (BOTTOM, "The lower player.")]
    answers += [
        (name, f"Voice {name}, {count} notes.")
        for name, count in voices.counts.items()
        if len(voices.counts) > 1
    ]
    if len(voices.counts) == 1:
        answers.append((voices.largest, "One player; what sounds together is a multiphonic."))
    readings = tuple(
        _read_bar(draft, bars[0], answer, words, replace(draft.settings, voice=answer))
        for answer, words in answers
    )
    return PartQuestion(
        QuestionTopic.VOICE,
        "Several lines stand on this staff. Which one is yours?",
        bars,
        readings,
        voices.largest,
    )


def _bars_of(draft: DraftReading, indices: Iterable[int]) -> tuple[int, ...]:
    """The bars of the undecided heads that belong to the line, each once."""
    line = {id(each.head) for each in draft.line}
    heads = (draft.heads.heads[index].head for index in indices)
    return tuple(sorted({head.bar for head in heads if id(head) in line}))


def _ask_arrows(draft: DraftReading) -> PartQuestion | None:
    bars = _bars_of(draft, draft.heads.undecided.arrows)
    if not bars:
        return None
    readings = tuple(
        _read_bar(
            draft, bars[0], f"{float(cents):g}", words, replace(draft.settings, arrow_cents=cents)
        )
        for cents, words in ARROW_SIZES
    )
    return PartQuestion(
        QuestionTopic.ARROWS,
        "How many cents does an arrow add or take away? Composers differ; look at the legend.",
        bars,
        readings,
        f"{float(ARROW_CENTS):g}",
    )


def _ask_stroked(draft: DraftReading) -> PartQuestion | None:
    bars = _bars_of(draft, draft.heads.undecided.stroked)
    if not bars:
        return None
    readings = tuple(
        _read_bar(
            draft, bars[0], f"{float(cents):g}", words, replace(draft.settings, stroked_cents=cents)
        )
        for cents, words in _STROKED_SIZES
    )
    return PartQuestion(
        QuestionTopic.STROKED_SIGNS,
        "How many cents lower is a flat with a stroke (a sharp with one, higher)?",
        bars,
        readings,
        f"{float(STROKED_CENTS):g}",
    )


def _ask_unknown(draft: DraftReading) -> PartQuestion | None:
    indices = draft.heads.undecided.unknown
    bars = _bars_of(draft, indices)
    if not bars:
        return None
    line = {id(each.head) for each in draft.line}
    heads = [draft.heads.heads[index].head for index in indices]
    signs = tuple(dict.fromkeys(head.sign for head in heads if id(head) in line))
    shown = ", ".join(f"“{name_sign(each)}”" for each in signs)
    return PartQuestion(
        QuestionTopic.UNKNOWN_SIGNS,
        f"The file has signs whose size is not known: {shown}. How many cents does each stand for?",
        bars,
        (replace(_read_bar(draft, bars[0], "0", _NO_SIGN, draft.settings), settings=None),),
        "0",
        signs=signs,
    )


def name_sign(sign: str) -> str:
    """Return the name of a sign of a score file without the mark of its list.

    >>> name_sign("smufl:accidentalSims12Up")
    'accidentalSims12Up'
    """
    return sign.removeprefix("smufl:")


def _ask_lasting(draft: DraftReading) -> PartQuestion | None:
    bars = _bars_of(draft, draft.heads.undecided.sign_lasts)
    if draft.settings.sign_lasts is not None or not bars:
        return None
    readings = tuple(
        _read_bar(draft, bars[0], rule.value, words, replace(draft.settings, sign_lasts=rule))
        for rule, words in _LASTING
    )
    return PartQuestion(
        QuestionTopic.SIGN_LASTS,
        "How long does the sign of a microtone hold? The file does not show it on later notes.",
        bars,
        readings,
        SignLasts.BAR.value,
    )


def _ask_trills(draft: DraftReading) -> PartQuestion | None:
    trills = [note for note in draft.notes if NoteFlag.TRILL_ASSUMED in note.flags]
    if not trills:
        return None
    readings = tuple(_read_trills(draft))
    return PartQuestion(
        QuestionTopic.TRILLS,
        "Which is the second note of these trills? The file cannot say; the next note is assumed.",
        tuple(dict.fromkeys(note.bar for note in trills)),
        readings,
        "next note",
        places=tuple(
            (note.bar, note.onset) for note in trills if note.trill_kind is TrillKind.TRILL
        ),
    )


def _read_trills(draft: DraftReading) -> Iterator[QuestionReading]:
    """The trills in question as they are assumed: the note, then the other.

    Their settings take that one as it is; another note is another `TrillAnswer` at its place.
    """
    for note in draft.notes:
        if NoteFlag.TRILL_ASSUMED in note.flags and note.trill_kind is TrillKind.TRILL:
            pair = (note.written,) if note.trill_to is None else (note.written, note.trill_to)
            segment = draft.pitch_map.segments[note.segment]
            sounding = tuple(draft.pitch_map.to_sounding(each, segment) for each in pair)
            label = draft.transcript.bars[note.bar].label
            settings = None
            if note.trill_to is not None:
                taken = TrillAnswer(note.bar, note.onset, note.trill_to)
                settings = replace(draft.settings, trills=(*draft.settings.trills, taken))
            yield QuestionReading("next note", f"Bar {label}.", settings, pair, sounding)


def _ask_tempo(draft: DraftReading) -> PartQuestion | None:
    """Asked where the first note comes before any tempo."""
    tempos = [event for event in draft.transcript.events if event.kind == "tempo"]
    first = draft.notes[0]
    is_known = any((event.bar, event.onset) <= (first.bar, first.onset) for event in tempos)
    if is_known or any(answer.bar <= first.bar for answer in draft.settings.tempos):
        return None
    return PartQuestion(
        QuestionTopic.TEMPO,
        "How fast is it? The file has no tempo at the beginning. Give quarter notes a minute.",
        (first.bar,),
        (),
        "unknown",
    )
