"""Answers that hand out an archive from a temporary file, which is gone with the answer."""

import tempfile
from collections.abc import Callable
from contextlib import ExitStack
from typing import IO

from flask import Response, send_file


def send_written(write: Callable[[IO[bytes]], str]) -> Response:
    """Hand out what is written into a temporary file, under the name that `write` returns.

    Raises:
        what `write` raises; the file is gone then.
    """
    with ExitStack() as opened:
        file = opened.enter_context(tempfile.TemporaryFile())
        name = write(file)
        file.seek(0)
        opened.pop_all()
        return send_archive(file, name)


def send_archive(file: IO[bytes], name: str) -> Response:
    """Hand out an archive as a download; the file is closed with the answer, or if that fails."""
    with ExitStack() as opened:
        opened.callback(file.close)
        answer = send_file(
            file, mimetype="application/zip", as_attachment=True, download_name=name, max_age=0
        )
        answer.call_on_close(opened.pop_all().close)
    return answer
