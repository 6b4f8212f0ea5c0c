"""The command line: `quartervent`. A command's module is imported when the command is used."""

import os
import sys
from importlib import import_module
from keyword import iskeyword

import click

from webapp.cli.walks import keep_for_good, walk_rarely

CONTEXT = {"help_option_names": ["-h", "--help"], "max_content_width": 100}
# In the order in which --help lists them; each is a function of that name in webapp/cli/<name>.py,
# with a stroke behind it where the name is a word of Python.
COMMANDS = (
    "serve",
    "shortcut",
    "certificate",
    "passphrase",
    "analyse",
    "split",
    "chart",
    "instrument",
    "log",
    "search",
    "piece",
    "check",
    "backup",
    "restore",
    "export",
    "import",
    "handout",
    "remeasure",
    "layouts",
    "draw",
    "suggest",
    "trill",
    "colours",
    "predict",
)

# The libraries under numpy read these when they are loaded, which a command does later. The
# finder's matrices are small: several threads for one of them wait longer than they work.
_THREAD_LIMITS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def open_command(name: str) -> click.Command:
    """Import one of the commands."""
    name = f"{name}_" if iskeyword(name) else name
    module = f"webapp.cli.{name}"
    if module not in sys.modules:
        walk_rarely()
        try:
            import_module(module)
        finally:
            keep_for_good()
    command: click.Command = getattr(sys.modules[module], name)
    return command


class Commands(click.Group):
    """A group that imports only the command it is asked for: `serve` must answer quickly."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name every command."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        return open_command(cmd_name)


@click.group(cls=Commands, context_settings=CONTEXT)
def main() -> None:
    """A personal fingering notebook for clarinettists, with recorded evidence.

    The notebook lies in the folder that QUARTERVENT_INSTANCE names, else in instance/ of the
    checkout.
    """
    for name in _THREAD_LIMITS:
        os.environ.setdefault(name, "1")
