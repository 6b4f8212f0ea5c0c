"""`quartervent serve`, as a real process on a free port."""

import gc
import logging
import os
import re
import signal
import socket
import subprocess
import sys
import time
import warnings
from collections.abc import Iterator, Sequence
from pathlib import Path
from urllib.request import Request, urlopen

import pytest
from click.testing import CliRunner

from tests import conftest
from webapp.cli.serve import HOST, LOG_NAME, _log_to, serve

BOUND_S = 30  # generous: the machine may be busy
ADDRESS = re.compile(r"http://(127\.0\.0\.1):(\d+)/")


class Server:
    """A server process and the address it printed."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "webapp", "serve", "--no-browser", *options],
            env={**os.environ, "QUARTERVENT_INSTANCE": str(folder), "PYTHONUNBUFFERED": "1"},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )

    @property
    def first_line(self) -> str:
        """What it printed first."""
        assert self.process.stdout is not None
        return self.process.stdout.readline()

    def stop(self) -> int:
        """Ask it to end as the system does, and return its exit status."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(BOUND_S)

    def close(self) -> None:
        """End it whatever happened."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate()


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, Path, str, int]]:
    """One running server with its folder, printed line and port."""
    folder = tmp_path_factory.mktemp("served") / "notebook"
    server = Server(folder, "--port", "0")
    try:
        line = server.first_line
        found = ADDRESS.search(line)
        assert found, line
        yield server, folder, line, int(found[2])
    finally:
        server.close()


def serve_and_fail(*options: str) -> str:
    """Run `serve` where it cannot serve, in this process, and return what it said."""
    root, mask = logging.getLogger(), os.umask(0o077)
    before = list(root.handlers)
    try:
        with warnings.catch_warnings():
            # What is half open when it fails would end with its process: here it is collected.
            warnings.simplefilter("ignore", ResourceWarning)
            output, problem = _invoke(options)
            gc.collect()
    finally:
        os.umask(mask)
        for handler in set(root.handlers) - set(before):
            root.removeHandler(handler)
            handler.close()
    assert problem == "SystemExit(1)"
    return output


def _invoke(options: Sequence[str]) -> tuple[str, str]:
    result = CliRunner().invoke(serve, ("--no-browser", *options))
    return result.output, repr(result.exception)


def fetch(port: int, host: str = "127.0.0.1") -> tuple[int, str]:
    """Fetch the start page."""
    address = Request(f"http://127.0.0.1:{port}/", headers={"Host": f"{host}:{port}"})
    with urlopen(address, timeout=BOUND_S) as answer:
        return answer.status, answer.read().decode()


def test_the_address_is_this_machine_only() -> None:
    assert HOST == "127.0.0.1"
    options = {name for option in serve.params for name in option.opts}
    # Another address needs --share, and that a passphrase: test_sharing.py.
    assert options == {"--demo", "--port", "--share", "--share-port", "--no-browser"}


def test_it_prints_its_address_and_answers_there_at_once(
    own: tuple[Server, Path, str, int],
) -> None:
    _, _, line, port = own
    began = time.monotonic()
    status, page = fetch(port)
    assert time.monotonic() - began < BOUND_S
    assert status == 200
    assert "An empty notebook" in page
    assert "stop it with Ctrl-C" in line


def test_it_listens_on_no_other_address(own: tuple[Server, Path, str, int]) -> None:
    # 127.0.0.2 is this machine as well, but not the address that was bound.
    with socket.socket() as probe:
        probe.settimeout(2)
        assert probe.connect_ex(("127.0.0.1", own[3])) == 0
    if sys.platform == "linux":  # other systems route 127.0.0.1 only
        with socket.socket() as probe, pytest.MonkeyPatch.context() as patched:
            patched.setattr(conftest, "LOOPBACK", {*conftest.LOOPBACK, "127.0.0.2"})
            probe.settimeout(2)
            assert probe.connect_ex(("127.0.0.2", own[3])) != 0


def test_its_folder_is_for_its_owner_only(own: tuple[Server, Path, str, int]) -> None:
    for path in (own[1] / "notebook.sqlite3", own[1] / "session.key"):
        assert path.stat().st_mode & 0o077 == 0, path


def test_a_taken_port_is_said_in_one_sentence(
    own: tuple[Server, Path, str, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(tmp_path / "second"))
    said = serve_and_fail("--port", str(own[3]))
    assert f"Port {own[3]} on 127.0.0.1 is taken" in said
    assert "--port" in said


def test_an_unforeseen_error_is_found_again_in_the_log(tmp_path: Path) -> None:
    root = logging.getLogger()
    before = list(root.handlers)
    _log_to(tmp_path)
    try:
        logging.getLogger("quartervent").error("this went wrong")
    finally:
        for handler in set(root.handlers) - set(before):
            root.removeHandler(handler)
            handler.close()
    assert "this went wrong" in (tmp_path / LOG_NAME).read_text()


@pytest.mark.parametrize("port", ["-1", "70000", "http"])
def test_a_port_that_is_none_is_refused(port: str) -> None:
    result = CliRunner().invoke(serve, ["--port", port])
    assert result.exit_code == 2
    assert "--port" in result.output


def test_it_ends_cleanly_when_the_system_asks(own: tuple[Server, Path, str, int]) -> None:
    # The last of the file: the server that the others ask is no more.
    server, _, _, port = own
    assert fetch(port)[0] == 200
    assert server.stop() == 0
    said = server.process.stdout.read() if server.process.stdout else ""
    assert "Traceback" not in said
