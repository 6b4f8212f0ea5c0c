"""`quartervent serve`: answer on this machine, and only on it."""

import logging
import os
import signal
import threading
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click

from webapp.cli.opening import open_demo_notebook, open_own_notebook
from webapp.notebook import Notebook

if TYPE_CHECKING:
    from webapp.background import Background

HOST = "127.0.0.1"
DEFAULT_PORT = 8765
THREADS = 6
LONGEST_GOODBYE_S = 5.0
LOG_NAME = "quartervent.log"


@click.command()
@click.option("--demo", is_flag=True, help="Serve a throw-away demo notebook instead of your own.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=DEFAULT_PORT,
    show_default=True,
    help="Port on 127.0.0.1; 0 takes any free one.",
)
def serve(*, demo: bool, port: int) -> None:
    """Serve the notebook to the browser on this machine."""
    os.umask(0o077)  # a notebook is for its owner's eyes
    opening = open_demo_notebook() if demo else open_own_notebook()
    with opening as notebook:
        _log_to(notebook.folder)
        _serve(notebook, port)


def _serve(notebook: Notebook, port: int) -> None:
    from waitress.server import create_server

    from webapp.app import create_app
    from webapp.uploads import BODY_LIMIT_BYTES

    app = create_app(notebook)
    try:
        server = create_server(
            app,
            host=HOST,
            port=port,
            threads=THREADS,
            # Beyond the app's own limit, so that its page answers and not the server's bare line.
            max_request_body_size=2 * BODY_LIMIT_BYTES,
            ident=None,
        )
    except OSError as error:
        raise click.ClickException(
            f"Port {port} on {HOST} is taken, perhaps by a notebook that is open already. "
            "Close that one, or choose another with --port."
        ) from error
    signal.signal(signal.SIGTERM, _stop)
    click.echo(f"Quartervent is at http://{HOST}:{server.effective_port}/ - stop it with Ctrl-C.")
    if notebook.is_demo:
        click.echo("This is the demo notebook: invented, and gone when you stop it.")
    else:
        click.echo(f"Your notebook lies in {notebook.folder.resolve()}")
    stop = threading.Event()
    work: Background = app.extensions["background"]
    preparing = threading.Thread(target=_prepare, args=(notebook, work, stop), daemon=True)
    preparing.start()
    try:
        server.run()
    finally:
        server.close()
        # The demo's folder goes next: nobody may be writing into it then.
        stop.set()
        preparing.join(timeout=LONGEST_GOODBYE_S)
        work.stop(timeout_s=LONGEST_GOODBYE_S)


def _prepare(notebook: Notebook, work: "Background", stop: threading.Event) -> None:
    """Do in the background what the first answer must not wait for."""
    from webapp.warming import LOOKING, warm_up

    warm_up()
    work.wake()  # what a restart interrupted goes on
    if notebook.is_demo:
        from webapp.demo import fill_demo

        fill_demo(notebook, stop=stop)
    if not stop.is_set():
        warm_up(LOOKING)


def _stop(number: int, frame: FrameType | None) -> None:
    del number, frame
    raise SystemExit(0)


def _log_to(folder: Path) -> None:
    """Log to the notebook's own folder: errors must be found again, and pages never show them."""
    handler = logging.FileHandler(folder / LOG_NAME, encoding="utf-8", delay=True)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    logging.getLogger().addHandler(handler)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
