"""`quartervent colours`: other fingerings of the same pitch for another colour."""

import json
from collections.abc import Iterator

import click

from analysis.finder import ColourAlternative, find_colours
from analysis.keywork import Layout, format_fingering
from analysis.pitch import InstrumentKind, NoteNames, WrittenPitch, format_cents
from analysis.planning import list_ordinary
from webapp.cli.finder_models import (
    PATIENCE_S,
    fit_untaught,
    open_own_finder,
    refuse_below_range,
    refuse_unpredicted,
)
from webapp.cli.keywork_options import KeyworkChoice, finder_options
from webapp.cli.reading import read_kind, read_target

Facts = dict[str, object]
"""A fingering of another colour, as JSON and words tell it."""


@click.command()
@click.argument("note")
@finder_options
def colours(
    *,
    note: str,
    kind_text: str,
    tuning_hz: float,
    keywork: KeyworkChoice,
    is_own: bool,
    name: str,
    is_json: bool,
) -> None:
    """Find other colours for NOTE: fingerings of the same pitch that leave other holes open.

    The most different first, as the tube predicts it; with --own your own come before what is
    predicted, with the brightness of their takes. Without --own nothing of the notebook is used.
    """
    kind = read_kind(kind_text)
    keywork.refuse_beside_own(is_own=is_own)
    if is_own:
        found = _ask_notebook(kind, keywork.wanted, name, note)
    else:
        layout = keywork.find_layout(kind)
        written = read_target(note, kind, tuning_hz)
        refuse_below_range(written, kind, layout)
        found = _ask_tube(kind, layout, written)
    if is_json:
        for facts in found:
            click.echo(json.dumps(facts, ensure_ascii=False))
        return
    if not found:
        click.echo("Nothing else is expected in tune that lies well in the hands.")
    for facts in found:
        click.echo(_write(facts))


def _ask_tube(kind: InstrumentKind, layout: Layout, written: WrittenPitch) -> list[Facts]:
    """Ask the untaught tube how the first ordinary fingering of the note may be coloured."""
    model = fit_untaught(kind, layout)
    ordinary = list_ordinary(model, written, tolerance_cents=10.0)
    if not ordinary:
        raise click.UsageError(
            "No ordinary fingering is known for this note, so nothing can be said to differ from "
            "it. See: quartervent suggest"
        )
    found = find_colours(written, model=model, reference=ordinary[0].fingering)
    model.tube.store()
    return list(map(_list_predicted, found))


def _ask_notebook(kind: InstrumentKind, wanted_layout: str, name: str, note: str) -> list[Facts]:
    """Ask as the page does: the player's own, then what is predicted."""
    with open_own_finder(kind, wanted_layout=wanted_layout, name=name) as (notebook, cache, own):
        from webapp.notebook.finder.colours import open_colours

        page = open_colours(
            notebook, cache, own, note, names=NoteNames.ENGLISH, patience_s=PATIENCE_S
        )
    if page.reference is None:
        raise click.UsageError("No fingering is known for this note. See: quartervent suggest")
    if page.failed is not None or page.working is not None:
        raise refuse_unpredicted(page.failed)

    def list_known() -> Iterator[Facts]:
        for each in page.known:
            facts, offset = each.judged.facts, each.judged.offset_cents
            yield {
                "fingering": facts.keys_text,
                "evidence": "measured" if facts.is_measured else "not tried",
                "offset_cents": None if offset is None else round(offset, 2),
                "sigma_cents": facts.uncertainty_cents,
                "chance": None,
                "lip_chance": None,
                "colour_db": round(each.colour_db or 0.0, 2),
                "brightness_partials": each.brightness and round(each.brightness.middle, 3),
                "brighter_by_partials": each.brighter_by and round(each.brighter_by, 3),
                "id": facts.fingering_id,
            }

    return [*list_known(), *map(_list_predicted, page.suggested)]


def _list_predicted(one: ColourAlternative) -> Facts:
    return {
        "fingering": format_fingering(one.fingering),
        "evidence": "predicted",
        "offset_cents": round(one.offset_cents, 2),
        "sigma_cents": round(one.sigma_cents, 2),
        "chance": round(one.chance, 3),
        "lip_chance": round(one.lip_chance, 3),
        "colour_db": round(one.colour_db, 2),
        "brightness_partials": None,
        "brighter_by_partials": None,
        "id": None,
    }


def _write(facts: Facts) -> str:
    offset, sigma = facts["offset_cents"], facts["sigma_cents"]
    pitch = ""
    if isinstance(offset, float) and isinstance(sigma, float):
        pitch = f"{format_cents(offset, decimals=0)} ± {sigma:.0f} cents"
    bright = facts["brightness_partials"]
    measured = f", brightness {bright:.1f} partials" if isinstance(bright, float) else ""
    return (
        f"{facts['colour_db']:>5.1f} dB  {pitch:>16}  {facts['fingering']}  "
        f"({facts['evidence']}{measured})"
    )
