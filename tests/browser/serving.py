"""A notebook served by the real server on a free port of this machine, in a thread."""

import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
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
        listener.answer_with(create_shared_app(create_app(notebook, access=access), access))
        try:
            yield Site(f"https://localhost:{listener.port}")
        finally:
            listener.stop()


@contextmanager
def serve_folder(
    folder: Path, *, port: int = 0, is_demo: bool = False, static: Path | None = None
) -> Iterator[Site]:
    """Serve the notebook in a folder until the block ends; port 0 takes any free one.

    `static` stands for a later version.
    """
    with closing(open_notebook(folder, is_demo=is_demo)) as notebook:
        app = create_app(notebook)
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
