"""`quartervent suggest`: what to try next for a note."""

import json
from functools import partial
from typing import NamedTuple

import click

from analysis.errors import AnalysisError
from analysis.finder import (
    DEFAULT_TOLERANCE_CENTS,
    MotionCosts,
    PlayerModel,
    RankedFingering,
    Suggestions,
    Wishes,
)
from analysis.finder import suggest as suggest_fingerings
from analysis.keywork import Layout, format_fingering
from analysis.pitch import InstrumentKind, NoteNames, WrittenPitch, format_cents, format_pitch
from analysis.planning import Played, find_neighbour_costs, list_ordinary, motion_table_of
from webapp.cli.finder_models import (
    PATIENCE_S,
    fit_untaught,
    open_own_finder,
    refuse_below_range,
    refuse_unpredicted,
)
from webapp.cli.keywork_options import KeyworkChoice, keywork_options
from webapp.cli.options import (
    instrument_option,
    json_option,
    name_option,
    own_option,
)
from webapp.cli.reading import read_kind, read_target

MOST_SUGGESTIONS = 40


class Beside(NamedTuple):
    """The notes before and after, None where not asked for."""

    before: WrittenPitch | None = None
    after: WrittenPitch | None = None


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
@keywork_options
@click.option("--before", "before_text", default="", help="The note before: short ways gain.")
@click.option("--after", "after_text", default="", help="The note after.")
@own_option
@name_option
@json_option
def suggest(
    *,
    target: str,
    instrument: str,
    tuning_hz: float,
    keywork: KeyworkChoice,
    name: str,
    count: int,
    tolerance_cents: float,
    has_half_holes: bool,
    before_text: str,
    after_text: str,
    is_own: bool,
    is_json: bool,
) -> None:
    """Suggest fingerings worth trying for TARGET, a written pitch of the instrument or hertz.

    Predicted, not measured. Worth trying is what should be in tune in one of ten tries or more, or
    in four with the lip. Without --own nothing of the notebook is used.
    """
    kind = read_kind(instrument)
    written = read_target(target, kind, tuning_hz)
    typed = (before_text, after_text)
    beside = Beside(*(read_target(text, kind, tuning_hz) if text else None for text in typed))
    wishes = Wishes(tolerance_cents=tolerance_cents, has_half_holes=has_half_holes)
    keywork.refuse_beside_own(is_own=is_own)
    if is_own:
        found = _ask_notebook(kind, keywork.wanted, name, written, wishes, count, beside)
    else:
        found = _ask_tube(kind, keywork.find_layout(kind), written, wishes, count, beside)
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
    beside: Beside,
) -> Suggestions:
    """Ask as the page does, with what the player's takes taught and what was dismissed."""
    with open_own_finder(kind, wanted_layout=wanted_layout, name=name) as (notebook, cache, own):
        from webapp.notebook.finder.suggesting import WishList, find_suggestions

        page = find_suggestions(
            notebook,
            cache,
            own,
            written.canonical,
            WishList(
                tolerance_cents=wishes.tolerance_cents,
                has_half_holes=wishes.has_half_holes,
                most_shown=count,
                before=beside.before.canonical if beside.before else "",
                after=beside.after.canonical if beside.after else "",
            ),
            names=NoteNames.ENGLISH,
            patience_s=PATIENCE_S,
        )
    if page.suggestions is None:
        raise refuse_unpredicted(page.failed)
    return page.suggestions


def _ask_tube(
    kind: InstrumentKind,
    layout: Layout,
    written: WrittenPitch,
    wishes: Wishes,
    count: int,
    beside: Beside,
) -> Suggestions:
    """Ask the untaught tube, without a notebook."""
    refuse_below_range(written, kind, layout)
    model = fit_untaught(kind, layout)
    try:
        found = suggest_fingerings(
            written,
            model=model,
            starts=(),
            wishes=wishes,
            count=count,
            find_motion=_weigh_ways(model, written, beside),
        )
    except AnalysisError as error:
        raise click.UsageError(str(error)) from error
    model.tube.store()
    return found


def _weigh_ways(model: PlayerModel, written: WrittenPitch, beside: Beside) -> MotionCosts | None:
    """Return what weighs the ways from and to the ordinary fingerings of the notes beside it."""
    if beside == Beside():
        return None
    before, after = (_play(model, note) for note in beside)
    return partial(
        find_neighbour_costs,
        motion_table_of(model.tube),
        float(written.cents),
        before=before,
        after=after,
    )


def _play(model: PlayerModel, note: WrittenPitch | None) -> tuple[Played, ...]:
    if note is None:
        return ()
    found = list_ordinary(model, note, tolerance_cents=DEFAULT_TOLERANCE_CENTS)
    if not found:
        raise click.UsageError(
            f"No ordinary fingering is known for {format_pitch(note)}, so no way from or to it can "
            "be weighed."
        )
    return tuple(Played(each.fingering, float(note.cents)) for each in found)


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
        "motion": None if one.motion is None else round(one.motion, 3),
        "reason": str(one.reason),
    }


def _write(one: RankedFingering) -> str:
    offset = f"{format_cents(one.offset_cents, decimals=0)} ± {one.sigma_cents:.0f} cents"
    return (
        f"{one.rank:>2}  {offset:>16}  {one.chance:>4.0%}, with the lip {one.lip_chance:.0%}  "
        f"{format_fingering(one.fingering)}\n"
        f"    {one.strategy.words}, from {format_pitch(one.base.written)}: {one.changes_words}"
    )
