"""Uploads that are too large are counted and dropped while they arrive; typed text survives.

A form sends its fields before its file. The request is read to its end in any case; past the limit
the bytes of a file are thrown away, and the view sees a file that says it is too large beside the
intact text. Only a body beyond `BODY_LIMIT_BYTES` is cut off with 413. A recording of many notes
may be longer than a take; the pages that take one in are named here.
"""

from collections.abc import Iterable
from tempfile import SpooledTemporaryFile
from typing import IO, Any, cast

from flask import Request
from werkzeug.datastructures import FileStorage

from webapp.notebook.store.errors import ClipRefused, ExchangeRefused, TooLarge

CLIP_LIMIT_BYTES = 64_000_000
LONG_LIMIT_BYTES = 256_000_000
LONG_ENDPOINTS = frozenset({"recordings.show_all", "received.arrive"})
BODY_LIMIT_BYTES = 512 << 20
FORM_TEXT_LIMIT_BYTES = 4 << 20
KEPT_IN_MEMORY_BYTES = 1 << 20


class CappedUpload(SpooledTemporaryFile[bytes]):
    """A temporary file that keeps no more than `limit_bytes`, else `CLIP_LIMIT_BYTES`."""

    def __init__(self, limit_bytes: int | None = None) -> None:
        super().__init__(max_size=KEPT_IN_MEMORY_BYTES)
        self.limit_bytes = CLIP_LIMIT_BYTES if limit_bytes is None else limit_bytes
        self.received_bytes = 0

    @property
    def is_too_large(self) -> bool:
        """Whether more arrived than is kept."""
        return self.received_bytes > self.limit_bytes

    def write(self, chunk: Any) -> int:  # noqa: ANN401 - the base class takes any buffer
        """Keep a chunk while there is room; past the limit nothing is kept at all."""
        self.received_bytes += len(chunk)
        if not self.is_too_large:
            return super().write(chunk)
        if self.tell():
            self.seek(0)
            self.truncate()
        return len(chunk)


class NotebookRequest(Request):
    """A request whose files are capped."""

    def _get_file_stream(
        self,
        total_content_length: int | None,
        content_type: str | None,
        filename: str | None = None,
        content_length: int | None = None,
    ) -> IO[bytes]:
        del total_content_length, content_type, filename, content_length
        is_long = self.endpoint in LONG_ENDPOINTS
        return cast(IO[bytes], CappedUpload(LONG_LIMIT_BYTES if is_long else None))


def read_clip(upload: FileStorage | None) -> FileStorage:
    """Return an uploaded clip.

    Raises:
        ClipRefused: no file was chosen.
        TooLarge: it is larger than a clip may be.
    """
    if upload is None or not upload.filename:
        raise ClipRefused(
            "No recording was chosen. Choose a sound file (wav, flac, mp3, m4a, ogg or webm)."
        )
    stream = upload.stream
    if isinstance(stream, CappedUpload) and stream.is_too_large:
        raise TooLarge(
            f"This file has {stream.received_bytes / 1e6:.1f} MB; {_what_is_enough(stream)}"
        )
    return upload


def read_score(upload: FileStorage | None) -> FileStorage | None:
    """Return an uploaded score; None where no file was chosen.

    Raises:
        TooLarge: it is larger than anything that is kept.
    """
    if upload is None or not upload.filename:
        return None
    stream = upload.stream
    if isinstance(stream, CappedUpload) and stream.is_too_large:
        raise TooLarge(
            f"This file has {stream.received_bytes / 1e6:.1f} MB, which no part needs. Save the "
            "part alone, without the rest of the score."
        )
    return upload


def read_pages(uploads: Iterable[FileStorage]) -> list[FileStorage]:
    """Return the uploaded files with pages of a part; an empty field sends one without a name.

    Raises:
        TooLarge: one of them is larger than anything that is kept.
    """
    chosen = [each for each in uploads if each and each.filename]
    for each in chosen:
        stream = each.stream
        if isinstance(stream, CappedUpload) and stream.is_too_large:
            raise TooLarge(
                f"This file has {stream.received_bytes / 1e6:.1f} MB; pages of a part may have up "
                f"to {stream.limit_bytes / 1e6:.0f} MB. Save the pages of your part alone."
            )
    return chosen


def read_archive_upload(upload: FileStorage | None) -> FileStorage:
    """Return an uploaded archive of another player.

    Raises:
        ExchangeRefused: no file was chosen.
        TooLarge: it is larger than a browser may send.
    """
    if upload is None or not upload.filename:
        raise ExchangeRefused("No file was chosen. Choose the archive you were given (.zip).")
    stream = upload.stream
    if isinstance(stream, CappedUpload) and stream.is_too_large:
        raise TooLarge(
            f"This file has {stream.received_bytes / 1e6:.1f} MB; a browser may send up to "
            f"{stream.limit_bytes / 1e6:.0f} MB. Bring it in with `quartervent import FILE`."
        )
    return upload


def _what_is_enough(stream: CappedUpload) -> str:
    limit = f"{stream.limit_bytes / 1e6:.0f} MB"
    if stream.limit_bytes == LONG_LIMIT_BYTES:
        return f"a long recording may have up to {limit}. Save it as flac, or in two parts."
    return (
        f"a take may have up to {limit}. A few seconds of one held note are enough: "
        "cut it and try again."
    )
