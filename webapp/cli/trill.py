"""`quartervent trill`: fingerings to go back and forth between two notes."""

import json

import click

from analysis.keywork import describe_motion, format_fingering
from analysis.pitch import InstrumentKind, NoteNames, format_cents
from analysis.planning import NoTrill, Playable, RankedPair, find_trills
from webapp.cli.finder_models import (
    PATIENCE_S,
    fit_untaught,
    open_own_finder,
    refuse_below_range,
    refuse_unpredicted,
)
from webapp.cli.keywork_options import KeyworkChoice, finder_options
from webapp.cli.reading import read_kind, read_target

MOST_PAIRS = 8


@click.command()
@click.argument("note")
@click.argument("other")
@click.option(
    "--count",
    type=click.IntRange(1, MOST_PAIRS),
    default=8,
    show_default=True,
    help="How many pairs at most.",
)
@finder_options
def trill(
    *,
    note: str,
    other: str,
    kind_text: str,
    tuning_hz: float,
    count: int,
    keywork: KeyworkChoice,
    is_own: bool,
    name: str,
    is_json: bool,
) -> None:
    """Find fingerings for a trill or tremolo between NOTE and OTHER, written pitches.

    One finger comes first, then what costs the hands least; both pitches count with it. Without
    --own nothing of the notebook is used.
    """
    kind = read_kind(kind_text)
    keywork.refuse_beside_own(is_own=is_own)
    if is_own:
        pairs = _ask_notebook(kind, keywork.wanted, name, note, other)[:count]
    else:
        layout = keywork.find_layout(kind)
        one, two = (read_target(text, kind, tuning_hz) for text in (note, other))
        for written in (one, two):
            refuse_below_range(written, kind, layout)
        lower, upper = sorted((one, two), key=lambda written: written.cents)
        model = fit_untaught(kind, layout)
        try:
            pairs = find_trills(lower, upper, model=model, count=count)
        except NoTrill as error:
            raise click.UsageError(str(error)) from error
        model.tube.store()
    if is_json:
        for rank, pair in enumerate(pairs, start=1):
            click.echo(json.dumps(_list_facts(rank, pair), ensure_ascii=False))
        return
    if not pairs:
        click.echo("Nothing is known for one of these notes, and nothing near enough is predicted.")
    for rank, pair in enumerate(pairs, start=1):
        click.echo(_write(rank, pair))


def _ask_notebook(
    kind: InstrumentKind, wanted_layout: str, name: str, note: str, other: str
) -> tuple[RankedPair, ...]:
    """Ask as the page does, with the player's own fingerings."""
    with open_own_finder(kind, wanted_layout=wanted_layout, name=name) as (notebook, cache, own):
        from webapp.notebook.finder.trills import open_trill

        page = open_trill(
            notebook, cache, own, note, other, names=NoteNames.ENGLISH, patience_s=PATIENCE_S
        )
    if page.working is not None or (page.failed is not None and not page.pairs):
        raise refuse_unpredicted(page.failed)
    return page.pairs


def _list_facts(rank: int, pair: RankedPair) -> dict[str, object]:
    blips = (pair.cost.there.blip_cents, pair.cost.back.blip_cents)
    heard = next((cents for cents in blips if cents is not None), None)
    return {
        "rank": rank,
        "lower": _list_end(pair.lower),
        "upper": _list_end(pair.upper),
        "fingers": pair.cost.finger_count,
        "one_finger": pair.cost.is_one_finger,
        "motion": describe_motion(pair.lower.fingering, pair.upper.fingering).words,
        "effort": round(pair.cost.cost, 3),
        "heard_between_cents": None if heard is None else round(heard, 1),
        "chance": round(pair.chance, 3),
    }


def _list_end(end: Playable) -> dict[str, object]:
    return {
        "fingering": format_fingering(end.fingering),
        "evidence": end.backing.value,
        "offset_cents": round(end.offset_cents, 2),
        "sigma_cents": round(end.sigma_cents, 2),
        "chance": round(end.chance, 3),
        "id": end.logged_id,
    }


def _write(rank: int, pair: RankedPair) -> str:
    motion = describe_motion(pair.lower.fingering, pair.upper.fingering).words
    return (
        f"{rank:>2}  {motion} (effort {pair.cost.cost:.3g} there and back)\n"
        f"    {_write_end(pair.lower)}\n    {_write_end(pair.upper)}"
    )


def _write_end(end: Playable) -> str:
    offset = f"{format_cents(end.offset_cents, decimals=0)} ± {end.sigma_cents:.0f} cents"
    return f"{format_fingering(end.fingering):<44} {offset:>16}, {end.backing.value}"
