"""`quartervent piece`: a part of a piece, read from a score file or from typed text.

`piece todo`, `piece plan`, `piece sheet` and `piece run` stand in modules of their own.
"""

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import click

from analysis.pitch import WrittenPitch, format_pitch
from analysis.score import PartNote, PartQuestion, ScorePart, read_part
from webapp.cli.options import json_option
from webapp.cli.piece_plan import plan
from webapp.cli.piece_run import run
from webapp.cli.piece_sheet import sheet
from webapp.cli.piece_todo import todo
from webapp.cli.refusing import refusing
from webapp.cli.score_files import open_transcript, part_options, settings_of

COLUMNS = ("bar", "at", "length", "written", "sounds", "more")
WIDTHS = (5, 7, 7, 18, 18, 0)
MOST_BARS = 12


@click.group()
def piece() -> None:
    """Read a part of a piece: what it needs, what has to be asked, what is still to do."""


piece.add_command(todo)
piece.add_command(plan)
piece.add_command(sheet)
piece.add_command(run)


@piece.command()
@part_options
@json_option
def read(
    *,
    file: Path,
    part_number: int | None,
    voice: str | None,
    sounding: bool,
    arrow_cents: float | None,
    is_json: bool,
) -> None:
    """Read a part of FILE: MusicXML (.musicxml, .xml, .mxl), MEI, or typed text (.txt).

    What the score cannot say is asked after the notes, with what each answer would lead to.

    With --json each line holds a note or a question, null where it is not known:

    \b
      kind                     note or question
      part                     number of the part in the score, from 1
    of a note:
      bar, bar_label           which bar of the part, from 1, and its printed number
      onset, duration          in quarter notes, as fractions: "1/2"
      written, sounding_cents  canonical text, and cents with A4 = 6900
      chord                    all written pitches where several sound together
      tie, slur, grace         ties are joined already; slur: no new attack
      trill, trill_to          trill, tremolo or timbral trill, and its other note
      fingerings, techniques, dynamic
                               as printed
      flags                    how the pitch was found, where it is not plain
    of a question:
      topic, question, bars, bar_labels, assumed
      readings                 answer, words, written, sounding_cents
    """
    settings = settings_of(voice=voice, sounding=sounding, arrow_cents=arrow_cents)
    with refusing():
        part = read_part(open_transcript(file, part_number), settings)
    if is_json:
        for note in part.notes:
            click.echo(json.dumps(_list_note_facts(note, part), ensure_ascii=False))
        for question in part.questions:
            click.echo(json.dumps(_list_question_facts(question, part), ensure_ascii=False))
    else:
        _print_table(part)
        for question in part.questions:
            for line in _ask(question, part):
                click.echo(line)
    for line in _tell_rest(part):
        click.echo(line, err=is_json)


def _list_note_facts(note: PartNote, part: ScorePart) -> dict[str, object]:
    return {
        "kind": "note",
        "part": part.number,
        "bar": note.bar + 1,
        "bar_label": part.bars[note.bar].label,
        "onset": str(note.onset),
        "duration": str(note.duration),
        "written": note.written.canonical,
        "sounding_cents": round(note.sounding.cents, 3),
        "chord": [each.canonical for each in note.chord],
        "tie": note.is_tied,
        "slur": note.is_slurred,
        "grace": note.is_grace,
        "trill": note.trill_kind.value if note.trill_kind else None,
        "trill_to": note.trill_to.canonical if note.trill_to else None,
        "fingerings": note.fingerings,
        "techniques": note.techniques,
        "dynamic": note.dynamic or None,
        "flags": [each.value for each in note.flags],
    }


def _list_question_facts(question: PartQuestion, part: ScorePart) -> dict[str, object]:
    return {
        "kind": "question",
        "part": part.number,
        "topic": question.topic.value,
        "question": question.words,
        "bars": [bar + 1 for bar in question.bars],
        "bar_labels": [part.bars[bar].label for bar in question.bars],
        "assumed": question.assumed,
        "readings": [
            {
                "answer": each.answer,
                "words": each.words,
                "written": [pitch.canonical for pitch in each.written],
                "sounding_cents": [round(pitch.cents, 3) for pitch in each.sounding],
            }
            for each in question.readings
        ],
    }


def _print_table(part: ScorePart) -> None:
    title = " – ".join(each for each in (part.title, part.name) if each)
    if title:
        click.echo(title)
    click.echo(_row(COLUMNS))
    for note in part.notes:
        click.echo(_row(_list_cells(note, part)))


def _list_cells(note: PartNote, part: ScorePart) -> Iterator[str]:
    yield part.bars[note.bar].label or f"({note.bar + 1})"
    yield str(note.onset)
    yield "grace" if note.is_grace else str(note.duration)
    yield _name(note.written)
    yield _name(WrittenPitch.from_cents(note.sounding.cents))
    yield "; ".join(_list_more(note))


def _list_more(note: PartNote) -> Iterator[str]:
    if note.chord:
        yield "with " + ", ".join(_name(each) for each in note.chord[1:])
    if note.trill_kind:
        yield note.trill_kind + (f" to {_name(note.trill_to)}" if note.trill_to else "")
    if note.is_slurred:
        yield "slurred"
    if note.dynamic:
        yield note.dynamic
    yield from (f"fingering {each}" for each in note.fingerings)
    yield from note.techniques
    yield from (each.value for each in note.flags)


def _name(pitch: WrittenPitch) -> str:
    return format_pitch(pitch.to_be_read(), style="short")


def _row(cells: Iterable[str]) -> str:
    padded = (cell.ljust(width) for cell, width in zip(cells, WIDTHS, strict=True))
    return "  ".join(padded).rstrip()


def _tell_rest(part: ScorePart) -> Iterator[str]:
    """Say what is no note: words, seams, what was left out, what else to know."""
    for text in part.texts:
        if text.is_technique:
            yield f"Words ({_tell_bars((text.bar,), part)}): {text.words}"
    for seam in part.seams:
        start, end = part.notes[seam.from_note], part.notes[seam.to_note]
        yield (
            f"Seam ({seam.reason}): from {_name(start.written)} in "
            f"{_tell_bars((start.bar,), part)} to {_name(end.written)} in "
            f"{_tell_bars((end.bar,), part)}"
        )
    for each in part.left_out:
        yield f"Left out, {each.kind}: {each.count} ({_tell_bars(each.bars, part)})."
    for remark in part.remarks:
        yield f"{_tell_bars(remark.bars, part)}: {remark.words}"


def _ask(question: PartQuestion, part: ScorePart) -> Iterator[str]:
    place = f" ({_tell_bars(question.bars, part)})" if question.bars else ""
    yield f"Question{place}: {question.words}"
    for each in question.readings:
        notes = ", ".join(_name(pitch) for pitch in each.written)
        mark = " (assumed)" if each.answer == question.assumed else ""
        yield f"  {each.answer}{mark}: {each.words}{' ' + notes if notes else ''}"


def _tell_bars(bars: tuple[int, ...], part: ScorePart) -> str:
    labels = [part.bars[bar].label or f"({bar + 1})" for bar in bars]
    shown = ", ".join(labels[:MOST_BARS])
    more = f" and {len(labels) - MOST_BARS} more" if len(labels) > MOST_BARS else ""
    return f"{'bar' if len(labels) == 1 else 'bars'} {shown}{more}"
