"""Letter to the composer, as the notebook writes it from a piece, for the player to edit.

What the part leaves open is asked: signs with several readings, what the player wants to ask or
leave out, notes that were tried and reach no fingering, multiphonics that do not speak, trills and
steps that the hands cannot make, with the nearest that can be played. Pure; notes are in words,
since the letter is plain text. A short line that stands alone is a heading.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analysis.pitch import NoteNames, WrittenPitch, format_pitch
from analysis.score import PartQuestion, QuestionTopic, ScorePart
from webapp.notebook.pieces.decisions import Decisions
from webapp.notebook.pieces.needs import MULTIPHONIC
from webapp.notebook.pieces.passage_steps import AwkwardWay
from webapp.notebook.pieces.todo import PieceTodo, TodoNote
from webapp.notebook.pieces.words import tell_bars
from webapp.notebook.store.rows import Settlement
from webapp.notebook.targets.answers import sounds_as

SIGNS, NOTES, HANDS = "Signs", "Notes", "Trills and passages"
_ASKED = {
    QuestionTopic.ARROWS: "How far does an arrow move the note?",
    QuestionTopic.STROKED_SIGNS: "How far does a flat or sharp with a stroke move the note?",
    QuestionTopic.UNKNOWN_SIGNS: "What does this sign mean?",
    QuestionTopic.SIGN_LASTS: "How long does the sign of a microtone hold?",
    QuestionTopic.TRILLS: "To which note does the trill go?",
}
_WISHES = {
    Settlement.ASK: "What would you like to hear there?",
    Settlement.LEAVE_OUT: "I would leave it out.",
    Settlement.SUBSTITUTE: "I would play the nearest instead.",
}
_CHARACTERS_SHOWN = 200
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True, slots=True)
class HardWay:
    """A trill or step that is hard for the hands, and the nearest other note that lies well.

    `finger_count` is how many fingers move; `easier` is None where nothing near does better.
    """

    way: AwkwardWay
    finger_count: int
    easier: WrittenPitch | None = None


@dataclass(frozen=True, slots=True)
class LetterMatter:
    """Sources that a letter is written from."""

    title: str
    composer: str
    todo: PieceTodo
    asked: ScorePart
    decisions: Decisions
    hard: tuple[HardWay, ...] = ()


def draft_letter(matter: LetterMatter, names: NoteNames) -> str:
    """Write the letter in the player's language of notes."""
    todo = matter.todo
    sections = (
        (SIGNS, [_ask_sign(each, matter.asked, names) for each in _find_signs(matter.asked)]),
        (NOTES, list(_list_notes(matter, names))),
        (HANDS, [_tell_hard(each, names) for each in matter.hard]),
    )
    greeting = f"Dear {matter.composer}," if matter.composer else "Dear composer,"
    paragraphs = [
        greeting,
        f"I am preparing {matter.title} on the {_name_instrument(todo)}. "
        "The notes below are named as they are written in my part.",
    ]
    said = [(heading, lines) for heading, lines in sections if lines]
    for heading, lines in said:
        paragraphs += [heading, *lines]
    if not said:
        paragraphs.append("Everything in it can be played as written.")
    paragraphs.append("With best wishes")
    return "\n\n".join(paragraphs) + "\n"


def _find_signs(part: ScorePart) -> Iterator[PartQuestion]:
    return (each for each in part.questions if each.topic in _ASKED)


def _ask_sign(question: PartQuestion, part: ScorePart, names: NoteNames) -> str:
    """Ask what a sign means, with what each reading would be."""
    readings = []
    for each in question.readings:
        words = each.words.rstrip(".")
        notes = ", ".join(_name(pitch, names) for pitch in each.written[:2])
        readings.append(f"{words[:1].lower()}{words[1:]}{f' ({notes})' if notes else ''}")
    places = _begin(tell_bars(question.bars, part)) if question.bars else "All through"
    signs = f" ({', '.join(question.signs)})" if question.signs else ""
    meant = f" I read: {'; or '.join(readings)}." if readings else ""
    return f"{places}: {_ASKED[question.topic]}{signs}{meant}"


def _list_notes(matter: LetterMatter, names: NoteNames) -> Iterator[str]:
    """Say of each note, in the order of bars, why it cannot be played and what would do."""
    for note in sorted(matter.todo.notes, key=lambda each: each.need.bars[0]):
        wish = _WISHES.get(note.settled.settlement) if note.settled else None
        if wish is not None or (note.settled is None and _was_tried_in_vain(note)):
            yield _tell_note(note, matter.todo, wish or _WISHES[Settlement.ASK], names)
    for item in matter.todo.apart:
        kept = matter.decisions.composers_for(item.written) if item.what == MULTIPHONIC else ()
        if kept and all(each.speaks is False for each in kept):
            pitches = " and ".join(_name(each, names) for each in item.written)
            yield (
                f"{_begin(tell_bars(item.bars, matter.todo.part))}: the multiphonic {pitches} does "
                "not speak on my instrument with the printed fingering. Is there another one?"
            )


def _was_tried_in_vain(note: TodoNote) -> bool:
    """Whether takes say that nothing known reaches a note."""
    nearest = note.nearest
    return note.best is None and nearest is not None and nearest.offset_cents is not None


def _tell_note(note: TodoNote, todo: PieceTodo, wish: str, names: NoteNames) -> str:
    parts = [f"{_begin(tell_bars(note.need.bars, todo.part))}: {_name(note.need.written, names)}."]
    best, nearest = note.best, note.nearest
    if best is not None and best.offset_cents is not None and not note.is_solved:
        side = "sharp" if best.offset_cents > 0 else "flat"
        parts.append(f"The best that I have lies {abs(best.offset_cents):.0f} cents {side}.")
    elif best is None:
        parts.append("I have no fingering that reaches it.")
    if best is None and nearest is not None and nearest.offset_cents is not None:
        heard = sounds_as(todo.instrument, nearest.facts.sounding_cents)
        parts.append(f"The nearest that I can play is {heard.in_words(names)}.")
    reason = " ".join(note.settled.reason.split())[:_CHARACTERS_SHOWN] if note.settled else ""
    if reason:
        ending = "" if reason.endswith((".", "!", "?")) else "."
        parts.append(f"{_begin(reason)}{ending}")
    return " ".join((*parts, wish))


def _tell_hard(hard: HardWay, names: NoteNames) -> str:
    way = hard.way
    first, second = (_name(pitch, names) for pitch, _ in (way.first, way.second))
    bars = f"{'Bar' if len(way.bars) == 1 else 'Bars'} {', '.join(way.bars)}"
    fingers = _count_fingers(hard.finger_count)
    if not way.is_trill:
        return (
            f"{bars}: on the way from {first} to {second}, {fingers} to move at once. At this "
            "tempo it will not be clean; slower or tongued it can be played."
        )
    easier = ""
    if hard.easier is not None:
        easier = f" The nearest trill that lies well goes to {_name(hard.easier, names)}."
    return (
        f"{bars}: in the trill from {first} to {second}, {fingers} to move there and back each "
        f"time, so it can only be slow.{easier}"
    )


def _count_fingers(count: int) -> str:
    if count == 1:
        return "one finger has"
    return f"{_NUMBERS[count] if count < len(_NUMBERS) else count} fingers have"


def _name_instrument(todo: PieceTodo) -> str:
    """Name the instrument as a composer knows it, not as the player calls their own."""
    name = todo.instrument.kind.name.partition(",")[0]
    return name if "clarinet" in name.lower() else f"{name} clarinet"


def _name(pitch: WrittenPitch, names: NoteNames) -> str:
    return format_pitch(pitch.to_be_read(), names=names)


def _begin(words: str) -> str:
    return words[:1].upper() + words[1:]


def split_paragraphs(text: str) -> Sequence[tuple[str, bool]]:
    """Return the paragraphs of a letter, and whether each is a heading.

    >>> split_paragraphs("Dear composer,\\n\\nSigns\\n\\nBar 2: what\\nis it?")
    [('Dear composer,', False), ('Signs', True), ('Bar 2: what\\nis it?', False)]
    """
    blocks = [each.strip() for each in text.replace("\r", "").split("\n\n")]
    found = [(block, _is_heading(block)) for block in blocks if block]
    return [*found[:-1], (found[-1][0], False)] if found else []


def _is_heading(block: str) -> bool:
    return "\n" not in block and len(block) <= 40 and block[-1] not in ".,:;?!"
