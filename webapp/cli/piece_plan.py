"""`quartervent piece plan`: the fingerings of a passage, what is awkward, what else there is."""

import json
from collections.abc import Iterator
from pathlib import Path

import click

from analysis.pitch import NoteNames, WrittenPitch, format_pitch
from analysis.planning import Emphasis
from webapp.cli.choosing import choose_by_name
from webapp.cli.opening import open_own_notebook
from webapp.cli.options import json_option
from webapp.cli.refusing import Refusal, refusing
from webapp.cli.score_files import open_transcript, part_options, settings_of
from webapp.notebook.pieces.passage_notes import ASSUMED_QUARTERS_PER_MINUTE, find_tempo
from webapp.notebook.pieces.passage_options import NoteOption
from webapp.notebook.pieces.passage_steps import AwkwardWay, FingeredPassage, FingeredStep
from webapp.notebook.pieces.passages import FileAnswer, FingeredFile, finger_file
from webapp.notebook.store.result_cache import ResultCache

PATIENCE_S = 300.0
ALTERNATIVES_SHOWN = 2


@click.command()
@part_options
@click.option("--instrument", "name", required=True, help="Name of an instrument of the notebook.")
@click.option("--bars", default="", metavar="A-B", help="Which bars, by their printed numbers.")
@click.option(
    "--bpm", type=float, default=None, help="Quarter notes a minute, in place of the part's own."
)
@click.option("--in-tune", is_flag=True, help="Most in tune, in place of safest.")
@json_option
def plan(
    *,
    file: Path,
    part_number: int | None,
    voice: str | None,
    sounding: bool,
    arrow_cents: float | None,
    name: str,
    bars: str,
    bpm: float | None,
    in_tune: bool,
    is_json: bool,
) -> None:
    """Choose the fingerings of a passage of FILE on one of your instruments.

    For each note the fingering with which the passage as a whole is easiest at its tempo, by pitch,
    evidence, response, hands and the way to the next note; then the awkward transitions. The
    weights are judgement. FILE as in `piece read`.

    With --json each line holds a note or an awkward transition, null where it is not known:

    \b
      kind                     note or transition
    of a note:
      bar, bar_label, onset    which bar, from 1, its printed number, and where in it
      written                  canonical text
      fingering                null where the note is open
      trill_to, trill_fingering
      is_predicted, stands     predicted only; how it stands, in words
      id                       number of the fingering, null where it is not logged
      alternatives             fingering, id, is_predicted, stands, harder: by how much the
                               passage costs more (one plain finger at four notes a second is 1)
    of a transition, the worst first:
      bar_labels, count, written, fingerings, cost, words, is_trill
      measured_s               seconds, of a trill there and back, where you recorded a loop of it:
                               then this decides and not judgement; such ones come last where they
                               are not awkward
    """
    settings = settings_of(voice=voice, sounding=sounding, arrow_cents=arrow_cents)
    emphasis = Emphasis.IN_TUNE if in_tune else Emphasis.SAFEST
    with refusing():
        transcript = open_transcript(file, part_number)
        with open_own_notebook() as notebook, ResultCache() as cache:
            chosen = choose_by_name(notebook, name)
            wanted = FingeredFile(transcript, settings, bars, bpm, emphasis)
            found = finger_file(notebook, cache, chosen, wanted, patience_s=PATIENCE_S)
    if not found.passage.steps:
        raise Refusal("No single note of these bars is for this instrument.")
    _print(found, is_json=is_json)
    for line in _tell_rest(found.passage, bpm=bpm, reason=found.without_predictions):
        click.echo(line, err=is_json)


def _print(found: FileAnswer, *, is_json: bool) -> None:
    passage, names = found.passage, found.writing.names
    if is_json:
        for step in passage.steps:
            click.echo(json.dumps(_list_step_facts(step), ensure_ascii=False))
        for way in passage.told_ways:
            click.echo(json.dumps(_list_way_facts(way, names), ensure_ascii=False))
    else:
        for line in _tabulate(passage, names):
            click.echo(line)


def _list_step_facts(step: FingeredStep) -> dict[str, object]:
    note, second = step.timed.note, step.timed.second
    option, partner = step.option, step.partner
    return {
        "kind": "note",
        "bar": note.bar + 1,
        "bar_label": step.bar_label,
        "onset": str(note.onset),
        "written": step.written.canonical,
        "fingering": option.keys_text if option else None,
        "trill_to": second.canonical if second else None,
        "trill_fingering": partner.keys_text if partner else None,
        "is_predicted": option.is_predicted if option else None,
        "stands": option.words if option else None,
        "id": option.fingering_id if option else None,
        "alternatives": [
            {
                "fingering": each.option.keys_text,
                "id": each.option.fingering_id,
                "is_predicted": each.option.is_predicted,
                "stands": each.option.words,
                "harder": round(each.harder, 2),
            }
            for each in step.alternatives
        ],
    }


def _list_way_facts(way: AwkwardWay, names: NoteNames) -> dict[str, object]:
    return {
        "kind": "transition",
        "bar_labels": way.bars,
        "count": way.count,
        "written": [each.canonical for each, _ in (way.first, way.second)],
        "fingerings": [each.keys_text for _, each in (way.first, way.second)],
        "cost": round(way.cost, 2),
        "words": way.words.in_words(names),
        "is_trill": way.is_trill,
        "measured_s": way.time_s,
    }


def _tabulate(passage: FingeredPassage, names: NoteNames) -> Iterator[str]:
    rows = [tuple(_list_cells(step, names)) for step in passage.steps]
    widths = [max(len(row[at]) for row in rows) for at in range(3)]
    for row, step in zip(rows, passage.steps, strict=True):
        yield "  ".join(map(str.ljust, row, (*widths, 0))).rstrip()
        for each in step.alternatives[:ALTERNATIVES_SHOWN]:
            yield f"    or {_tell_option(each.option)}: {each.words}"
    for number, way in enumerate(passage.awkward):
        if number == 0:
            yield "Awkward, the worst first:"
        yield _tell_way(way, names)
    for number, way in enumerate(passage.told_ways[len(passage.awkward) :]):
        if number == 0:
            yield "Measured, and not awkward:"
        yield _tell_way(way, names)


def _tell_way(way: AwkwardWay, names: NoteNames) -> str:
    notes = " - ".join(_name(each, names) for each, _ in (way.first, way.second))
    times = "" if way.count == 1 else f", {way.count} times"
    bars = f"{'bar' if len(way.bars) == 1 else 'bars'} {', '.join(way.bars)}"
    measured = f" Measured: {way.time_words}." if way.time_words else ""
    return f"  {notes} ({bars}{times}): {way.words.in_words(names)}{measured}"


def _list_cells(step: FingeredStep, names: NoteNames) -> Iterator[str]:
    yield step.bar_label
    yield _name(step.written, names)
    yield step.keys_text or "open"
    yield f"({step.option.words})" if step.option else ""


def _tell_option(option: NoteOption) -> str:
    return f"{option.keys_text} ({option.words})"


def _name(pitch: WrittenPitch, names: NoteNames) -> str:
    return format_pitch(pitch.to_be_read(), names=names, style="short")


def _tell_rest(passage: FingeredPassage, *, bpm: float | None, reason: str) -> Iterator[str]:
    """Say what was assumed, what is open, and why something is not predicted."""
    if bpm is None and find_tempo(passage.part, passage.stretch.first_bar) is None:
        yield f"Assumed: {ASSUMED_QUARTERS_PER_MINUTE:g} quarter notes a minute."
    labels = dict.fromkeys(each.bar_label for each in passage.open_steps)
    if labels:
        yield f"Open: {'bar' if len(labels) == 1 else 'bars'} {', '.join(labels)}."
    if reason:
        yield f"Nothing is predicted. {reason}"
