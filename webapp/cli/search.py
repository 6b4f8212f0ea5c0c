"""`quartervent search`: what does the notebook hold for a target?"""

import click

from analysis.pitch import format_cents, format_pitch
from webapp.cli.opening import open_own_notebook
from webapp.notebook.preferences.preferences import read_preferences
from webapp.notebook.store.errors import NotebookError
from webapp.notebook.targets.search import Hit, SearchQuery, search_target

LINES = 1000


@click.command()
@click.argument("target")
@click.option(
    "--within", type=click.FloatRange(1, 200), default=25.0, show_default=True, help="In cents."
)
def search(*, target: str, within: float) -> None:
    """Find fingerings on every instrument that sound near TARGET, a sounding pitch or Hz."""
    with open_own_notebook() as notebook:
        names = read_preferences(notebook).names
        query = SearchQuery(text=target, tolerance_cents=within, hits_on_a_page=LINES)
        try:
            result = search_target(notebook, query, names=names)
        except NotebookError as error:
            raise click.UsageError(str(error)) from error

    def line(hit: Hit) -> str:
        row = hit.fingering
        takes = "1 take" if row.take_count == 1 else f"{row.take_count} takes"
        evidence = takes if row.is_proven else "not measured"
        written = format_pitch(row.written, names=names)
        return (
            f"{format_cents(hit.distance_cents or 0.0):>8}  {row.keys_text}  "
            f"{written} on {row.instrument.name} ({evidence})"
        )

    if not result.hits:
        click.echo(
            f"Nothing yet within {within:g} cents"
            + (". The nearest:" if result.nearest else ", and nothing near.")
        )
    for hit in (*result.hits, *result.nearest):
        click.echo(line(hit))
    if result.has_more:
        click.echo(f"These are {LINES} of {result.hit_count}. Search within fewer cents.")
