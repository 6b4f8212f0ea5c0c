"""The command line: `quartervent`."""

import click

from webapp.cli.analyse import analyse
from webapp.cli.chart import chart
from webapp.cli.check import check
from webapp.cli.search import search
from webapp.cli.serve import serve

CONTEXT = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


@click.group(context_settings=CONTEXT)
def main() -> None:
    """A personal fingering notebook for clarinettists, with recorded evidence.

    The notebook lies in the folder that QUARTERVENT_INSTANCE names, else in instance/ of the
    checkout.
    """


for command in (serve, analyse, chart, search, check):
    main.add_command(command)
