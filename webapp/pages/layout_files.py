"""A layout that comes as a file: its text, or what is wrong with the file."""

from contextlib import closing

from werkzeug.datastructures import FileStorage

from webapp.notebook.store.errors import FieldRefused

LIMIT_BYTES = 1_000_000  # far more than a layout may have; the reader counts its characters


def read_layout_file(upload: FileStorage | None) -> str:
    """Return the text of an uploaded layout file.

    Raises:
        FieldRefused: there is no file, it is too large, or it is no text in UTF-8.
    """
    if upload is None or not upload.filename:
        raise FieldRefused("file", "No file was chosen. Choose a layout file (.toml).")
    with closing(upload):
        content = upload.stream.read(LIMIT_BYTES + 1)
    if len(content) > LIMIT_BYTES:
        raise FieldRefused("file", "This file is too large for a layout. Choose another one.")
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise FieldRefused(
            "file", "This file is no text in UTF-8, so it is no layout. Choose a .toml file."
        ) from error
