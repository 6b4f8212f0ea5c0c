"""A notebook served by the real server on a free port of this machine, in a thread."""

import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from waitress.server import create_server

from webapp.app import create_app
from webapp.cli.serve import HOST
from webapp.notebook import open_notebook
from webapp.uploads import BODY_LIMIT_BYTES


@dataclass(frozen=True)
class Site:
    """Where a served notebook answers."""

    origin: str

    @property
    def port(self) -> int:
        """The port, to serve there again."""
        return int(self.origin.rpartition(":")[2])


@contextmanager
def serve_folder(folder: Path, *, port: int = 0) -> Iterator[Site]:
    """Serve the notebook in a folder until the block ends; 0 takes any free port."""
    with closing(open_notebook(folder)) as notebook:
        server = create_server(
            create_app(notebook),
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
            server.trigger.pull_trigger(stop)  # the loop's own thread must close its sockets
            thread.join()
            server.task_dispatcher.shutdown()
