"""Compiled templates, kept where Python keeps compiled modules, so that the next start reads them.

Nothing is kept where Python is told to keep nothing, or where the folder cannot be written to.
"""

import hashlib
import sys
from collections.abc import Iterator
from contextlib import suppress
from functools import cached_property
from importlib.util import cache_from_source
from pathlib import Path
from tempfile import NamedTemporaryFile

from jinja2.bccache import Bucket, BytecodeCache

_HERE = Path(__file__).parent


class KeptTemplates(BytecodeCache):
    """The code of each template, by its name.

    Its text decides whether it still holds, and what works out its constants: a later code takes
    the place of an earlier one.
    """

    def __init__(self, templates: Path) -> None:
        self._templates = templates

    def get_cache_key(self, name: str, filename: str | None = None) -> str:
        """Name the code of a template."""
        del filename
        return hashlib.sha256(name.encode()).hexdigest()[:32]

    def get_source_checksum(self, source: str) -> str:
        """Return the mark of what a code was made of."""
        return hashlib.sha256(f"{self._presenting} {source}".encode()).hexdigest()

    def load_bytecode(self, bucket: Bucket) -> None:
        """Read what was kept, if it is there."""
        with suppress(OSError), self._path(bucket).open("rb") as file:
            bucket.load_bytecode(file)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what was compiled."""
        if sys.dont_write_bytecode:
            return
        path = self._path(bucket)
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            with NamedTemporaryFile(dir=path.parent, delete=False) as file:
                bucket.write_bytecode(file)
            Path(file.name).replace(path)

    def _path(self, bucket: Bucket) -> Path:
        return Path(cache_from_source(str(self._templates / f"{bucket.key}.html")))

    @cached_property
    def _presenting(self) -> str:
        """A mark of the filters, which templates apply to constants when they are compiled."""
        return " ".join(_describe_files())


def _describe_files() -> Iterator[str]:
    for path in sorted(_HERE.glob("*.py")):
        facts = path.stat()
        yield f"{path.name} {facts.st_size} {facts.st_mtime_ns}"
