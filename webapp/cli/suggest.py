"""`quartervent suggest`: what to try next for a note."""

import json

import click

from analysis.errors import AnalysisError
from analysis.finder import (
    DEFAULT_TOLERANCE_CENTS,
    PlayerModel,
    RankedFingering,
    Suggestions,
    Wishes,
)
from analysis.finder import suggest as suggest_fingerings
from analysis.keywork import Layout, format_fingering
from analysis.pitch import InstrumentKind, NoteNames, WrittenPitch, format_cents, format_pitch
from webapp.cli.finder_cache import open_finder_cache
from webapp.cli.options import instrument_option, json_option, layout_option, with_option
from webapp.cli.reading import add_keys, choose_layout, read_kind, read_target

PATIENCE_S = 600.0
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
@with_option
@click.option("--own", "is_own", is_flag=True, help="Learn from the takes in your own notebook.")
@click.option("--name", default="", help="Which of your own, if there are several of the kind.")
@json_option
def suggest(
    *,
    target: str,
    instrument: str,
    tuning_hz: float,
    wanted: str,
    with_keys: tuple[str, ...],
    name: str,
    count: int,
    tolerance_cents: float,
    has_half_holes: bool,
    is_own: bool,
    is_json: bool,
) -> None:
    """Suggest fingerings worth trying for TARGET, a written pitch of the instrument or hertz.

    Predicted, not measured. Without --own nothing of the notebook is used.
    """
    kind = read_kind(instrument)
    written = read_target(target, kind, tuning_hz)
    wishes = Wishes(tolerance_cents=tolerance_cents, has_half_holes=has_half_holes)
    if is_own and with_keys:
        raise click.UsageError("--with: an instrument of your own says itself which keys it has.")
    if is_own:
        found = _ask_notebook(kind, wanted, name, written, wishes, count)
    else:
        layout = add_keys(choose_layout(kind, wanted), with_keys)
        found = _ask_tube(kind, layout, written, wishes, count)
    if is_json:
        for one in found.items:
            click.echo(json.dumps(_list_facts(one), ensure_ascii=False))
        return
    click.echo(found.verdict)
    for one in found.items:
        click.echo(_write(one))


def _ask_notebook(
    kind: InstrumentKind,
    wanted_layout: str,
    name: str,
    written: WrittenPitch,
    wishes: Wishes,
    count: int,
) -> Suggestions:
    """Ask as the page does, with what the player's takes taught and what was dismissed."""
    # late: without the player's own notebook no database has to be loaded
    from webapp.cli.opening import find_own_instrument, open_own_notebook
    from webapp.notebook.finder.suggesting import WishList, find_suggestions
    from webapp.notebook.store.errors import NotebookError
    from webapp.notebook.store.result_cache import ResultCache

    wish_list = WishList(
        tolerance_cents=wishes.tolerance_cents,
        has_half_holes=wishes.has_half_holes,
        most_shown=count,
    )
    with open_own_notebook() as notebook, ResultCache() as cache:
        own = find_own_instrument(notebook, kind, wanted_layout=wanted_layout, name=name)
        try:
            page = find_suggestions(
                notebook,
                cache,
                own,
                written.canonical,
                wish_list,
                names=NoteNames.ENGLISH,
                patience_s=PATIENCE_S,
            )
        except NotebookError as error:
            raise click.UsageError(str(error)) from error
    if page.suggestions is None:
        reason = page.failed.reason if page.failed else "It takes too long."
        raise click.UsageError(f"Nothing can be predicted for this instrument. {reason}")
    return page.suggestions


def _ask_tube(
    kind: InstrumentKind, layout: Layout, written: WrittenPitch, wishes: Wishes, count: int
) -> Suggestions:
    """Ask the untaught tube, without a notebook."""
    lowest = kind.from_treble_notation(layout.lowest)
    if written.cents <= lowest.cents - 100:
        raise click.UsageError(
            f"{format_pitch(written)} lies below the range of the {kind.name} clarinet, which is "
            f"written {format_pitch(lowest)} to {format_pitch(kind.ordinary_top)}."
        )
    try:
        model = PlayerModel.fit(kind.id, layout, (), cache=open_finder_cache())
        found = suggest_fingerings(
            written,
            model=model,
            starts=(),
            wishes=wishes,
            count=count,
        )
    except AnalysisError as error:
        raise click.UsageError(str(error)) from error
    model.tube.store_rows()
    return found


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
        "lip_chance": round(one.lip_chance, 3),
        "ease": round(one.ease, 3),
        "half_hole": one.has_half_hole,
        "within_reach": one.is_within_reach,
        "same_sound": [format_fingering(variant) for variant in one.variants],
        "reason": one.reason,
    }


def _write(one: RankedFingering) -> str:
    offset = f"{format_cents(one.offset_cents, decimals=0)} ± {one.sigma_cents:.0f} cents"
    return (
        f"{one.rank:>2}  {offset:>16}  {one.chance:>4.0%}, with the lip {one.lip_chance:.0%}  "
        f"{format_fingering(one.fingering)}\n"
        f"    {one.strategy.words}, from {format_pitch(one.base.written)}: {one.changes_words}"
    )
