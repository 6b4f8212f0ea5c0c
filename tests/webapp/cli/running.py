"""A command, run as a player would."""

from pathlib import Path

from click.testing import CliRunner, Result

from webapp.cli import main


def run(*arguments: str, folder: Path | None = None) -> Result:
    """Run a command on a notebook."""
    env = {"QUARTERVENT_INSTANCE": str(folder)} if folder else {}
    return CliRunner().invoke(main, arguments, env=env)
