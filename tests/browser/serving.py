"""A notebook served by the real server on a free port of this machine, in a thread."""

import threading
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import pytest
from waitress.server import create_server

from tests import conftest
from tests.webapp.shared_access import LOOPBACK, prepare
from webapp.app import create_app, create_shared_app
from webapp.cli.serve import HOST
from webapp.guards.uploads import BODY_LIMIT_BYTES
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.clock import now_utc
from webapp.sharing.access import SharedAccess
from webapp.sharing.listener import ANY_ADDRESS, SharedListener, make_tls_context

FILES_STAY_S = 3600


@dataclass(frozen=True)
class Site:
    """Where a served notebook answers."""

    origin: str

    @property
    def port(self) -> int:
        """The port, to serve there again."""
        return int(self.origin.rpartition(":")[2])


@contextmanager
def share_folder(folder: Path) -> Iterator[Site]:
    """Share the notebook in a folder by HTTPS until the block ends, as `serve --share` does."""
    keys = prepare(folder)
    listener = SharedListener(make_tls_context(keys), port=0, body_limit_bytes=BODY_LIMIT_BYTES)
    with closing(open_notebook(folder)) as notebook, pytest.MonkeyPatch.context() as patch:
        # To listen on every address is not to reach another machine.
        patch.setattr(conftest, "LOOPBACK", {*conftest.LOOPBACK, ANY_ADDRESS})
        listener.prepare()
        access = SharedAccess(keys, LOOPBACK, listener.port, now_utc)
        app = create_app(notebook, access=access)
        app.config["SEND_FILE_MAX_AGE_DEFAULT"] = FILES_STAY_S  # as in `serve_folder`
        listener.answer_with(create_shared_app(app, access))
        try:
            yield Site(f"https://localhost:{listener.port}")
        finally:
            listener.stop()


class Address:
    """An address of one notebook after the other, so that browsers keep the files of its pages."""

    def __init__(self) -> None:
        self._port = 0

    @contextmanager
    def serve(self, folder: Path) -> Iterator[Site]:
        """Serve the notebook in a folder until the block ends."""
        with ExitStack() as serving:
            try:
                site = serving.enter_context(serve_folder(folder, port=self._port))
            except OSError:  # somebody else has taken the port meanwhile
                site = serving.enter_context(serve_folder(folder))
            self._port = site.port
            yield site


@contextmanager
def serve_folder(
    folder: Path,
    *,
    port: int = 0,
    is_demo: bool = False,
    static: Path | None = None,
    keeps_files: bool = True,
) -> Iterator[Site]:
    """Serve the notebook in a folder until the block ends; port 0 takes any free one.

    `static` stands for a later version. With `keeps_files` a browser need not ask for the some
    fifty files of a page again, as it otherwise does: that is half of what opening a page takes.
    """
    with closing(open_notebook(folder, is_demo=is_demo)) as notebook:
        app = create_app(notebook)
        if keeps_files:
            app.config["SEND_FILE_MAX_AGE_DEFAULT"] = FILES_STAY_S
        app.static_folder = str(static or app.static_folder)
        server = create_server(
            app,
            host=HOST,
            port=port,
            threads=4,
            max_request_body_size=BODY_LIMIT_BYTES,
        )

        def stop() -> None:
            for channel in list(server.active_channels.values()):
                channel.handle_close()
            server.close()

        thread = threading.Thread(target=server.run)
        thread.start()
        try:
            yield Site(f"http://{HOST}:{server.effective_port}")
        finally:
            # the loop's own thread must close its sockets; it may have done so, and closed the
            # trigger, before the byte that wakes it is written
            with suppress(OSError):
                server.trigger.pull_trigger(stop)
            thread.join()
            server.task_dispatcher.shutdown()
