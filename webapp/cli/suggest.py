"""`quartervent suggest`: what to try next for a note."""

import json

import click

from analysis.errors import AnalysisError
from analysis.finder import (
    DEFAULT_TOLERANCE_CENTS,
    PlayerModel,
    RankedFingering,
    Wishes,
)
from analysis.finder import suggest as find_suggestions
from analysis.keywork import format_fingering
from analysis.pitch import format_cents, format_pitch
from webapp.cli.options import instrument_option, json_option, layout_option
from webapp.cli.own_takes import OwnTakes, read_own_takes
from webapp.cli.reading import choose_layout, read_kind, read_target

MOST_SUGGESTIONS = 40


@click.command()
@click.argument("target")
@instrument_option
@click.option(
    "--tuning",
    "tuning_hz",
    type=float,
    default=440.0,
    show_default=True,
    metavar="HZ",
    help="Tuning A, for a TARGET in hertz.",
)
@click.option(
    "--count",
    type=click.IntRange(1, MOST_SUGGESTIONS),
    default=5,
    show_default=True,
    help="How many at most.",
)
@click.option(
    "--tolerance",
    "tolerance_cents",
    type=click.FloatRange(1.0, 50.0),
    default=DEFAULT_TOLERANCE_CENTS,
    show_default=True,
    help="An offset up to this many cents is in tune.",
)
@click.option("--half-holes", "has_half_holes", is_flag=True, help="Half-holes too, last.")
@layout_option
@click.option("--own", "is_own", is_flag=True, help="Learn from the takes in your own notebook.")
@click.option("--name", default="", help="Which of your own, if there are several of the kind.")
@json_option
def suggest(
    *,
    target: str,
    instrument: str,
    tuning_hz: float,
    wanted: str,
    is_own: bool,
    is_json: bool,
    count: int,
    **choice: object,
) -> None:
    """Suggest fingerings worth trying for TARGET, a written pitch of the instrument or hertz.

    Predicted, not measured. Without --own nothing of the notebook is used.
    """
    kind = read_kind(instrument)
    written = read_target(target, kind, tuning_hz)
    own = (
        read_own_takes(kind, wanted_layout=wanted, name=str(choice["name"]))
        if is_own
        else OwnTakes(choose_layout(kind, wanted))
    )
    wishes = Wishes(
        tolerance_cents=float(str(choice["tolerance_cents"])),
        has_half_holes=bool(choice["has_half_holes"]),
    )
    try:
        model = PlayerModel.fit(kind.id, own.layout, own.logs, air_c=own.air_c)
        found = find_suggestions(
            written, model=model, starts=own.starts, wishes=wishes, count=count
        )
    except AnalysisError as error:
        raise click.UsageError(str(error)) from error
    if is_json:
        for one in found.items:
            click.echo(json.dumps(_list_facts(one), ensure_ascii=False))
        return
    click.echo(found.verdict)
    for one in found.items:
        click.echo(_write(one))


def _list_facts(one: RankedFingering) -> dict[str, object]:
    return {
        "rank": one.rank,
        "fingering": format_fingering(one.fingering),
        "base": {
            "written": one.base.written.canonical,
            "fingering": format_fingering(one.base.fingering),
        },
        "strategy": one.strategy.value,
        "changes": one.changes_words,
        "offset_cents": round(one.offset_cents, 2),
        "sigma_cents": round(one.sigma_cents, 2),
        "chance": round(one.chance, 3),
        "ease": round(one.ease, 3),
        "half_hole": one.has_half_hole,
        "within_reach": one.is_within_reach,
        "reason": one.reason,
    }


def _write(one: RankedFingering) -> str:
    offset = f"{format_cents(one.offset_cents, decimals=0)} ± {one.sigma_cents:.0f} cents"
    return (
        f"{one.rank:>2}  {offset:>16}  {one.chance:>4.0%}  {format_fingering(one.fingering)}\n"
        f"    {one.strategy.words}, from {format_pitch(one.base.written)}: {one.changes_words}"
    )
