"""Options that several commands share."""

from collections.abc import Callable
from typing import TypeVar

import click

from analysis.finder.strategies import Strategy

Decorated = TypeVar("Decorated", bound=Callable[..., object])

instrument_option = click.option(
    "--instrument", required=True, help="Kind of clarinet, for example b-flat-soprano."
)
layout_option = click.option(
    "--layout",
    "wanted",
    default="",
    help="Keywork: a name from `quartervent layouts`; left out, the first that serves it.",
)
with_option = click.option(
    "--with",
    "with_keys",
    multiple=True,
    metavar="KEY",
    help="A key that not every instrument has; may be given again.",
)
kind_option = click.option(
    "--instrument",
    "kind_text",
    default="b-flat soprano",
    show_default=True,
    metavar="KIND",
    help="The trade's name: b-flat soprano, a soprano, bass, ...",
)
tuning_option = click.option(
    "--tuning", "tuning_hz", type=float, default=440.0, show_default=True, metavar="HZ"
)
json_option = click.option("--json", "is_json", is_flag=True, help="One JSON object a line.")

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
    click.option("--name", "player_name", default="", help="Your name, as it shall stand there."),
)


def selection_options(command: Decorated) -> Decorated:
    """Add the options that choose fingerings of one instrument, and the name they go under."""
    for option in reversed(_SELECTION):
        command = option(command)
    return command
