"""Options that choose fingerings of one instrument to be handed on, and the name they go under."""

from collections.abc import Callable
from functools import wraps

import click

from analysis.finder.strategies import Strategy
from webapp.cli.choosing import choose_by_name, choose_piece
from webapp.notebook.exchange.selecting import Selection
from webapp.notebook.store.notebook import Notebook

Choose = Callable[[Notebook], Selection]
"""Finds the fingerings that the options of a command choose."""

_SELECTION = (
    click.option("--instrument", "name", required=True, help="Name of the instrument."),
    click.option("--low", default="", help="The lowest note; left out, from the lowest."),
    click.option("--high", default="", help="The highest note; left out, to the highest."),
    click.option("--piece", "piece_title", default="", help="Only those for this piece."),
    click.option("--tag", default="", help="Only those with this tag."),
    click.option(
        "--strategy",
        type=click.Choice([each.value for each in Strategy]),
        help="Only those that were derived so.",
    ),
    click.option("--measured", "is_measured_only", is_flag=True, help="Only measured ones."),
    click.option("--mine", "is_choice_only", is_flag=True, help="Only those you call yours."),
    click.option(
        "--whole-holes",
        "is_without_half_holes",
        is_flag=True,
        help="Only those without half-holes.",
    ),
)
player_name_option = click.option(
    "--name", "player_name", default="", help="Your name, as it shall stand there."
)


def selection_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options that choose fingerings of one instrument.

    The command gets `choose`, which finds the selection in a notebook that is open; it raises
    `Refusal` where no instrument or piece has the name.
    """

    @wraps(command)
    def choosing(
        *,
        name: str,
        low: str,
        high: str,
        piece_title: str,
        tag: str,
        strategy: str | None,
        is_measured_only: bool,
        is_choice_only: bool,
        is_without_half_holes: bool,
        **others: object,
    ) -> None:
        def choose(notebook: Notebook) -> Selection:
            return Selection(
                choose_by_name(notebook, name),
                low=low,
                high=high,
                tag=tag,
                piece_id=choose_piece(notebook, piece_title) if piece_title else None,
                strategy=None if strategy is None else Strategy(strategy),
                is_measured_only=is_measured_only,
                is_choice_only=is_choice_only,
                is_without_half_holes=is_without_half_holes,
            )

        command(choose=choose, **others)

    for option in reversed(_SELECTION):
        choosing = option(choosing)
    return choosing
