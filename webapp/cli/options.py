"""Options that several commands share."""

import click

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
own_option = click.option(
    "--own", "is_own", is_flag=True, help="Learn from the takes in your own notebook."
)
name_option = click.option(
    "--name", default="", help="Which of your own, if there are several of the kind."
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
