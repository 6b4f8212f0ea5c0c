"""`quartervent piece todo`: the notes of a part that need thought, the most pressing first."""

import json
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path

import click

from analysis.pitch import NoteNames, WrittenPitch, format_cents, format_pitch
from analysis.score import ScorePart
from webapp.cli.choosing import choose_by_name
from webapp.cli.opening import open_own_notebook
from webapp.cli.options import json_option
from webapp.cli.refusing import refusing
from webapp.cli.score_files import open_transcript, part_options, settings_of
from webapp.drawing.figures import state_uncertainty
from webapp.notebook.pieces.needs import ApartItem, name_bars
from webapp.notebook.pieces.todo import PieceTodo, TodoNote, open_todo
from webapp.notebook.pieces.words import list_ways, tell_bars, tell_length
from webapp.notebook.targets.standing import Judged

COLUMNS = ("note", "stands", "times", "length", "in tune within", "how", "bars")
ALL_SETTLED = "Every note with a pitch is an ordinary one."
NONE_FOR_IT = "No single note of this part is for this instrument."


@click.command()
@part_options
@click.option("--instrument", "name", required=True, help="Name of an instrument of the notebook.")
@json_option
def todo(
    *,
    file: Path,
    part_number: int | None,
    voice: str | None,
    sounding: bool,
    arrow_cents: float | None,
    name: str,
    is_json: bool,
) -> None:
    """List what is still to do for a part of FILE on one of your instruments.

    Every note that is no ordinary one, the most pressing first: open, near, not tried, in tune.
    What counts as in tune is your tolerance, 5 cents where a note is held or a just interval, 20
    where it is short; a tolerance that you keep for the note wins. FILE as in `piece read`.

    With --json each line holds a note or what stands apart, null where it is not known:

    \b
      kind                     note or apart
      count, bars, bar_labels  how often; which bars, from 1, and their printed numbers
    of a note:
      written, sounding_cents  canonical text, and cents with A4 = 6900
      shortest_s, longest_s    in seconds, where a tempo is known
      shortest, longest        in quarter notes, as fractions: "1/2"
      slurred, tongued, grace, alternating
                               how often each; alternating: in a trill or tremolo
      dynamics, fingerings, techniques
                               as printed
      tolerance_cents, tolerance
                               and where it comes from
      standing, solved         of the best fingering, or open
      best, nearest            id, fingering, standing, offset_cents, uncertainty_cents,
                               takes_counted, is_choice; nearest where nothing serves
    of what stands apart:
      what, written, fingerings
    """
    settings = settings_of(voice=voice, sounding=sounding, arrow_cents=arrow_cents)
    with refusing():
        transcript = open_transcript(file, part_number)
        with open_own_notebook() as notebook:
            found = open_todo(notebook, choose_by_name(notebook, name), transcript, settings)
    if is_json:
        for note in found.notes:
            click.echo(json.dumps(_list_note_facts(note, found.part), ensure_ascii=False))
        for item in found.apart:
            click.echo(json.dumps(_list_apart_facts(item, found.part), ensure_ascii=False))
    else:
        for line in _tabulate(found):
            click.echo(line)
    for line in _tell_rest(found):
        click.echo(line, err=is_json)


def _list_note_facts(note: TodoNote, part: ScorePart) -> dict[str, object]:
    need, judged = note.need, note.answer.note
    return {
        "kind": "note",
        "written": need.written.canonical,
        "sounding_cents": round(judged.sounding.cents, 3),
        "count": need.count,
        **_list_bars(need.bars, part),
        "shortest_s": _round_s(need.shortest_s),
        "longest_s": _round_s(need.longest_s),
        "shortest": _write_quarters(need.shortest_quarters),
        "longest": _write_quarters(need.longest_quarters),
        "slurred": need.slurred_count,
        "tongued": need.tongued_count,
        "grace": need.grace_count,
        "alternating": need.alternating_count,
        "dynamics": need.dynamics,
        "fingerings": need.fingerings,
        "techniques": need.techniques,
        "tolerance_cents": judged.tolerance_cents,
        "tolerance": note.tolerance_words,
        "standing": note.standing_words,
        "solved": note.is_solved,
        "best": _list_judged_facts(note.best, note),
        "nearest": _list_judged_facts(note.nearest, note),
    }


def _list_judged_facts(judged: Judged | None, note: TodoNote) -> dict[str, object] | None:
    if judged is None:
        return None
    facts = judged.facts
    uncertainty = facts.uncertainty_cents
    return {
        "id": facts.fingering_id,
        "fingering": facts.keys_text,
        "standing": judged.standing.value,
        "offset_cents": round(_find_offset(judged, note), 2),
        "uncertainty_cents": None
        if uncertainty is None
        else round(state_uncertainty(uncertainty), 2),
        "takes_counted": facts.take_count,
        "is_choice": judged.is_choice,
    }


def _list_apart_facts(item: ApartItem, part: ScorePart) -> dict[str, object]:
    return {
        "kind": "apart",
        "what": item.what,
        "count": item.count,
        **_list_bars(item.bars, part),
        "written": [each.canonical for each in item.written],
        "fingerings": item.fingerings,
    }


def _list_bars(bars: Iterable[int], part: ScorePart) -> dict[str, object]:
    every = list(bars)
    return {
        "bars": [bar + 1 for bar in every],
        "bar_labels": [part.bars[bar].label for bar in every],
    }


def _find_offset(judged: Judged, note: TodoNote) -> float:
    """Return how far from the note a fingering is measured, or else meant, to sound, in cents."""
    return judged.facts.sounding_cents - note.answer.note.sounding.cents


def _round_s(length_s: float | None) -> float | None:
    return None if length_s is None else round(length_s, 3)


def _write_quarters(length: Fraction | None) -> str | None:
    return None if length is None else str(length)


def _tabulate(found: PieceTodo) -> Iterator[str]:
    part, names = found.part, found.writing.names
    title = " – ".join(each for each in (part.title, part.name) if each)
    yield f"{title} on {found.instrument.name}" if title else found.instrument.name
    if not found.notes:
        yield ALL_SETTLED if found.settled_count else NONE_FOR_IT
        return
    rows = [COLUMNS, *(tuple(_list_cells(note, part, names)) for note in found.notes)]
    widths = [max(len(row[at]) for row in rows) for at in range(len(COLUMNS))]
    lines = ["  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]
    yield lines[0]
    for line, note in zip(lines[1:], found.notes, strict=True):
        yield line
        if note.best is not None:
            yield f"    {_tell_fingering(note.best, note)}"
        elif note.nearest is not None:
            yield f"    nearest: {_tell_fingering(note.nearest, note)}"


def _list_cells(note: TodoNote, part: ScorePart, names: NoteNames) -> Iterator[str]:
    need = note.need
    yield _name(need.written, names)
    yield note.standing_words
    yield str(need.count)
    yield tell_length(need)
    yield f"{note.answer.note.tolerance_cents:g} ({note.tolerance_words})"
    yield "; ".join(list_ways(need))
    yield name_bars(need.bars, part)


def _tell_fingering(judged: Judged, note: TodoNote) -> str:
    offset = format_cents(_find_offset(judged, note))
    takes = judged.facts.take_count
    words = "not measured" if takes == 0 else "1 take" if takes == 1 else f"{takes} takes"
    return f"{offset}  {judged.facts.keys_text}  ({words})"


def _name(pitch: WrittenPitch, names: NoteNames) -> str:
    return format_pitch(pitch.to_be_read(), names=names, style="short")


def _tell_rest(found: PieceTodo) -> Iterator[str]:
    """Say what stands apart, what was assumed, and which bars remain."""
    part, names = found.part, found.writing.names
    for each in found.apart:
        pitches = ", ".join(_name(pitch, names) for pitch in each.written)
        more = f": {pitches}" if pitches else ""
        more += "".join(f" [{text}]" for text in each.fingerings)
        yield f"Apart, {each.what}: {each.count} ({tell_bars(each.bars, part)}){more}"
    for question in part.questions:
        place = f" ({tell_bars(question.bars, part)})" if question.bars else ""
        yield f"Assumed “{question.assumed}”{place}: {question.words}"
    for remark in part.remarks:
        yield f"{tell_bars(remark.bars, part).capitalize()}: {remark.words}"
    if found.open_bars:
        yield f"Still open: {tell_bars(found.open_bars, part)}."
    elif found.notes or found.settled_count:
        yield "Nothing is open."
