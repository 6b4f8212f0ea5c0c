"""`quartervent search`: what does the notebook hold for a target?"""

import json

import click

from analysis.pitch import NoteNames, format_cents, format_pitch
from webapp.cli.choosing import choose_by_name
from webapp.cli.opening import open_own_notebook
from webapp.cli.options import json_option
from webapp.cli.refusing import refusing
from webapp.drawing.figures import state_uncertainty
from webapp.notebook.preferences.preferences import read_preferences
from webapp.notebook.targets.search import Hit, SearchQuery, SearchResult, search_target
from webapp.notebook.targets.standing import Standing

LINES = 1000


@click.command()
@click.argument("target")
@click.option(
    "--instrument",
    "name",
    default="",
    help="Name of an instrument: TARGET is written for it then, otherwise it is a sounding pitch.",
)
@click.option(
    "--within",
    type=float,
    default=25.0,
    show_default=True,
    help="How far from TARGET in cents something may sound and still be listed.",
)
@json_option
def search(*, target: str, name: str, within: float, is_json: bool) -> None:
    """Find the fingerings for TARGET, the best first."""
    with refusing(), open_own_notebook() as notebook:
        names = read_preferences(notebook).names
        query = SearchQuery(
            text=target,
            instrument_id=choose_by_name(notebook, name) if name else None,
            within_cents=within,
            hits_on_a_page=LINES,
        )
        result = search_target(notebook, query, names=names)
    if is_json:
        for hit in _list(result):
            click.echo(json.dumps(_list_facts(hit), ensure_ascii=False))
        return
    if not result.hits:
        click.echo(
            f"Nothing yet within {within:g} cents"
            + (". The nearest:" if result.nearest else ", and nothing near.")
        )
    elif result.answer and result.answer.reason:
        click.echo(f"First: {result.answer.reason}.")
    for remark in result.answer.remarks if result.answer else ():
        click.echo(remark.in_words(names))
    for hit in _list(result):
        click.echo(_line(hit, names))
    if result.has_more:
        click.echo(f"These are {LINES} of {result.hit_count}. Search within fewer cents.")


def _list(result: SearchResult) -> tuple[Hit, ...]:
    """Return the hits in their order, then what only stands beside them."""
    shown = {hit.fingering.id for hit in (*result.history, *result.silent)}
    nearest = (hit for hit in result.nearest if hit.fingering.id not in shown)
    return (*result.hits, *nearest, *result.history, *result.silent)


def _list_facts(hit: Hit) -> dict[str, object]:
    row, judged = hit.fingering, hit.judged
    uncertainty = row.offset_uncertainty_cents
    return {
        "id": row.id,
        "fingering": row.keys_text,
        "instrument": row.instrument.name,
        "written": row.target_text,
        "standing": judged.standing.value if judged else None,
        "offset_cents": None if hit.distance_cents is None else round(hit.distance_cents, 2),
        "uncertainty_cents": None
        if uncertainty is None
        else round(state_uncertainty(uncertainty), 2),
        "takes_counted": row.take_count,
        "is_choice": judged is not None and judged.is_choice,
        "resistance": row.resistance,
        "half_hole": row.has_half_hole,
        "speaks_softly": row.speaks_softly,
    }


def _line(hit: Hit, names: NoteNames) -> str:
    row, judged = hit.fingering, hit.judged
    takes = "1 take" if row.take_count == 1 else f"{row.take_count} takes"
    offset = "" if hit.distance_cents is None else format_cents(hit.distance_cents)
    standing = judged.standing.value if judged else ""
    if judged and judged.standing is Standing.ELSEWHERE:
        standing = f"sounds {hit.sounds_as.in_words(names)}"
    return (
        f"{offset:>8}  {row.keys_text}  {format_pitch(row.written, names=names)} on "
        f"{row.instrument.name} ({standing}; {takes})"
    )
