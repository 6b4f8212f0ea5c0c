"""`quartervent serve`: answer on this machine, and only on it, unless sharing is asked for."""

import logging
import os
import signal
import threading
from contextlib import ExitStack
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click

from webapp.cli.browser import open_browser
from webapp.cli.heap import share_heaps
from webapp.cli.opening import hold_own_folder, open_demo_notebook, open_own_notebook
from webapp.cli.walks import keep_for_good, walk_as_usual, walk_rarely
from webapp.notebook.safekeeping.integrity import find_damage
from webapp.notebook.safekeeping.leftovers import clear_leftovers
from webapp.notebook.store.folder_lock import FolderLock, find_holder
from webapp.notebook.store.notebook import Notebook, database_path
from webapp.notebook.store.own_folder import default_folder

if TYPE_CHECKING:
    from flask import Flask
    from waitress.server import BaseWSGIServer

    from webapp.notebook.demo import DemoFilling
    from webapp.notebook.recordings.splitter import Background
    from webapp.notebook.store.result_cache import ResultCache

HOST = "127.0.0.1"
DEFAULT_PORT = 8765
DEFAULT_SHARE_PORT = 8766
THREADS = 6
LONGEST_GOODBYE_S = 5.0
FIRST_ANSWER_WITHIN_S = 10.0  # what comes after it begins then, asked or not
GIVES_WAY_S = 5.0
LOG_NAME = "quartervent.log"
LOG_BYTES, LOGS_KEPT = 1 << 20, 3


@click.command()
@click.option("--demo", is_flag=True, help="Serve a throw-away demo notebook instead of your own.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=DEFAULT_PORT,
    show_default=True,
    help="Port on 127.0.0.1; 0 takes any free one.",
)
@click.option(
    "--share",
    is_flag=True,
    help="Also answer other devices on this network, by HTTPS and with the passphrase.",
)
@click.option(
    "--share-port",
    type=click.IntRange(0, 65535),
    default=DEFAULT_SHARE_PORT,
    show_default=True,
    help="Port for other devices; 0 takes any free one.",
)
@click.option(
    "--no-browser", is_flag=True, help="Do not open the browser; without a screen it stays shut."
)
def serve(*, demo: bool, port: int, share: bool, share_port: int, no_browser: bool) -> None:
    """Serve the notebook to the browser on this machine."""
    os.umask(0o077)  # a notebook is for its owner's eyes
    share_heaps()
    if demo and share:
        raise click.UsageError(
            "The demo is thrown away when it closes, its certificate and passphrase with it, so it "
            "is not shared. Share your own notebook, or look at the demo on this machine."
        )
    with ExitStack() as until_the_end:
        walk_rarely()  # until the first answer
        until_the_end.callback(walk_as_usual)
        try:
            held = None if demo else until_the_end.enter_context(hold_own_folder("serve"))
        except click.ClickException:
            if no_browser or not _show_open_one():
                raise
            return
        opening = open_demo_notebook() if demo else open_own_notebook()
        notebook = until_the_end.enter_context(opening)
        _log_to(notebook.folder)
        if not demo:
            clear_leftovers(notebook.folder)
            _refuse_damage(notebook)
        _serve(notebook, port, share_port if share else None, held, has_browser=not no_browser)


def _show_open_one() -> bool:
    """Show the notebook that is open already in the browser; False where that cannot be."""
    _, address = find_holder(default_folder())
    if not address or not open_browser(address):
        return False
    click.echo(f"The notebook is open already at {address}; your browser shows it.")
    return True


def _refuse_damage(notebook: Notebook) -> None:
    """Look for damage as far as a start can afford: what is damaged must not be written to."""
    path = database_path(notebook.folder)
    damage = find_damage(path, is_quick=True) if path is not None else ()
    if damage:
        raise click.ClickException(
            f"The database of this notebook is damaged ({damage[0]}). Put a backup in its place "
            "with `quartervent restore FILE`, or save what can be read: `quartervent backup "
            "--what-can-be-read FILE`."
        )


def _serve(
    notebook: Notebook,
    port: int,
    share_port: int | None,
    held: FolderLock | None,
    *,
    has_browser: bool,
) -> None:
    with ExitStack() as until_the_end:
        opened = None
        if share_port is not None:
            from webapp.cli.shared import open_sharing

            opened = until_the_end.enter_context(open_sharing(notebook, share_port))
        from webapp.app import create_app

        app = create_app(notebook, access=opened.access if opened else None)
        server = _take_port(app, port)
        demo = _begin_demo(notebook) if notebook.is_demo else None
        signal.signal(signal.SIGTERM, _stop)
        address = f"http://{HOST}:{server.effective_port}/"
        if held is not None:
            held.tell(what="serve", address=address)
        click.echo(f"Quartervent is at {address} - stop it with Ctrl-C.")
        if notebook.is_demo:
            click.echo("This is the demo notebook: invented, and gone when you stop it.")
        else:
            click.echo(f"Your notebook lies in {notebook.folder.resolve()}")
        for each in notebook.news:
            click.echo(each)
        if opened:
            opened.answer(app)
            click.echo(opened.words)
        if has_browser:
            open_browser(address)  # the port listens already
        _answer(server, notebook, app, demo)


def _begin_demo(notebook: Notebook) -> "DemoFilling":
    """Get ready to fill the demo in the background; the first page waits for its fingerings."""
    from webapp.notebook.demo import DemoFilling

    return DemoFilling(notebook)


def _take_port(app: "Flask", port: int) -> "BaseWSGIServer":
    from waitress.server import create_server

    from webapp.guards.uploads import BODY_LIMIT_BYTES

    try:
        server: BaseWSGIServer = create_server(
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
    return server


def _answer(
    server: "BaseWSGIServer", notebook: Notebook, app: "Flask", demo: "DemoFilling | None"
) -> None:
    """Answer until somebody stops it; then let everybody finish."""
    stop = threading.Event()
    work: Background = app.extensions["background"]
    results: ResultCache = app.extensions["result_cache"]
    if demo is not None:
        app.extensions["demo"] = demo
        app.before_request(demo.wait)
    has_answered = threading.Event()
    app.teardown_request(lambda _: has_answered.set())
    preparing = threading.Thread(
        target=_prepare, args=(demo, work, results, has_answered, stop), daemon=True
    )
    preparing.start()
    try:
        server.run()
    finally:
        server.close()
        # The demo's folder goes next: nobody may be writing into it then.
        stop.set()
        has_answered.set()
        preparing.join(timeout=LONGEST_GOODBYE_S)
        results.stop(timeout_s=LONGEST_GOODBYE_S)
        work.stop(timeout_s=LONGEST_GOODBYE_S)


def _prepare(
    demo: "DemoFilling | None",
    work: "Background",
    results: "ResultCache",
    has_answered: threading.Event,
    stop: threading.Event,
) -> None:
    """Do in the background what the first answer must not wait for."""
    if demo is not None:
        demo.log_fingerings()  # the first page shows them
    has_answered.wait(FIRST_ANSWER_WITHIN_S)
    keep_for_good()
    from webapp.cli.background_imports import import_packages

    filling = None
    if demo is not None:
        filling = threading.Thread(target=demo.fill, kwargs={"stop": stop}, daemon=True)
        filling.start()
    import_packages(give_way=lambda: results.traffic.let_pass(GIVES_WAY_S), stop=stop)
    work.wake()  # what a restart interrupted goes on
    if filling is not None:
        filling.join(timeout=LONGEST_GOODBYE_S if stop.is_set() else None)


def _stop(number: int, frame: FrameType | None) -> None:
    del number, frame
    raise SystemExit(0)


def _log_to(folder: Path) -> None:
    """Log to the notebook's own folder: errors must be found again, and pages never show them."""
    handler = RotatingFileHandler(
        folder / LOG_NAME,
        maxBytes=LOG_BYTES,
        backupCount=LOGS_KEPT,
        encoding="utf-8",
        delay=True,
    )
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    logging.getLogger().addHandler(handler)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
