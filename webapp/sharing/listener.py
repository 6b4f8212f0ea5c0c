"""The TLS server for other devices: cheroot, on every IPv4 address of this machine.

waitress, which serves this machine itself, speaks no TLS. Two things are done differently from what
cheroot does by itself, since strangers may connect here:

* The TLS handshake happens in a waiting room (`waiting_room`). cheroot does it in the one thread
  that accepts connections, so a single client that connects and says nothing would stop all the
  others (its issue 748).
* A body that no view read is thrown away in small pieces. cheroot reads it into memory at once, and
  a stranger's may be as large as the largest recording.
"""

import logging
import ssl
import threading
from typing import TYPE_CHECKING, Any

from cheroot.server import HTTPConnection, HTTPRequest
from cheroot.ssl import Adapter
from cheroot.wsgi import Server

from webapp.sharing.folder import SharingFolder
from webapp.sharing.waiting_room import Waiting, WaitingRoom

if TYPE_CHECKING:
    from socket import socket
    from wsgiref.types import WSGIApplication

ANY_ADDRESS = "0.0.0.0"
THREADS = 8
SILENCE_S = 10
WAITING_CONNECTIONS = 32
HEADER_LIMIT_BYTES = 64 << 10
GOODBYE_S = 3
_PIECE_BYTES = 64 << 10
_LOG = logging.getLogger("quartervent")


def make_tls_context(folder: SharingFolder) -> ssl.SSLContext:
    """Return the settings of the listener: TLS 1.2 or newer, and the server's certificate."""
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.load_cert_chain(folder.server, folder.server_key)
    return context


class LateHandshake(Adapter):
    """Wraps a connection in TLS, and leaves the handshake to the waiting room."""

    def __init__(self, context: ssl.SSLContext) -> None:
        self.context = context

    def bind(self, sock: "socket") -> "socket":
        """Leave the listening socket as it is."""
        return sock

    def wrap(self, sock: "socket") -> tuple[ssl.SSLSocket, dict[str, str]]:
        """Wrap a connection that was accepted."""
        wrapped = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        return wrapped, self.get_environ()

    def get_environ(self) -> dict[str, str]:
        """Return what a request says of its connection; no header can change it."""
        return {"wsgi.url_scheme": "https", "HTTPS": "on"}

    def makefile(self, sock: "socket", mode: str = "r", bufsize: int = -1) -> Any:  # noqa: ANN401 - cheroot's own type, without a name
        """Return the connection as a file."""
        from cheroot.makefile import MakeFile

        return MakeFile(sock, mode, bufsize)


class FrugalRequest(HTTPRequest):
    """A request whose unread body is thrown away in pieces."""

    def send_headers(self) -> None:
        """Clear the way for the next request on this connection, then answer."""
        if self.chunked_read:
            self.close_connection = True  # its pieces may be of any size; no browser sends them
        elif not self.close_connection:
            while self.rfile.read(_PIECE_BYTES):
                pass
        super().send_headers()


class SecuredConnection(HTTPConnection):
    """A connection that has shaken hands before a worker gets it."""

    RequestHandlerClass = FrugalRequest
    has_asked = False
    """Whether it came out of the waiting room."""


class SharedListener(Server):
    """The server: `prepare` takes the port, `answer_with` answers from then on, `stop` ends it."""

    ConnectionClass = SecuredConnection

    def __init__(self, context: ssl.SSLContext, *, port: int, body_limit_bytes: int) -> None:
        super().__init__(
            (ANY_ADDRESS, port),
            None,
            numthreads=THREADS,
            max=THREADS,
            server_name="Quartervent",
            request_queue_size=WAITING_CONNECTIONS,
            timeout=SILENCE_S,
            shutdown_timeout=GOODBYE_S,
        )
        self.ssl_adapter = LateHandshake(context)
        self._waiting_room = WaitingRoom(self._let_in, timeout_s=SILENCE_S)
        self.max_request_header_size = HEADER_LIMIT_BYTES
        self.max_request_body_size = body_limit_bytes

    @property
    def port(self) -> int:
        """The port that was taken."""
        return int(self.bind_addr[1])

    @staticmethod
    def bind_socket(socket_: "socket", bind_addr: tuple[str, int]) -> "socket":
        """Bind, and let go of the socket where the port is taken: cheroot leaves it open."""
        try:
            socket_.bind(bind_addr)
        except OSError:
            socket_.close()
            raise
        return socket_

    def process_conn(self, conn: SecuredConnection) -> None:
        """Let a new connection wait until it asks for something; one that has asked is answered."""
        if conn.has_asked:
            super().process_conn(conn)
        else:
            self._waiting_room.admit(conn)

    def _let_in(self, conn: Waiting) -> None:
        assert isinstance(conn, SecuredConnection)
        conn.has_asked = True
        self.process_conn(conn)

    def stop(self) -> None:
        """End; whoever is being answered is answered first."""
        self._waiting_room.close()
        super().stop()

    def answer_with(self, app: "WSGIApplication") -> None:
        """Answer in a thread of its own."""
        self.wsgi_app = app
        self._waiting_room.open()
        threading.Thread(target=self.serve, daemon=True).start()

    def error_log(self, msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
        """Note what went wrong on a connection in the notebook's own log."""
        _LOG.log(level, "shared: %s", msg, exc_info=traceback)
