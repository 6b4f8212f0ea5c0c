"""Compiled templates, kept in memory: a test process makes hundreds of applications."""

from types import CodeType

from jinja2.bccache import Bucket, BytecodeCache

from webapp.app import NotebookFlask


class CompiledOnce(BytecodeCache):
    """Hands out the code of a template that was compiled before from the same text."""

    def __init__(self) -> None:
        self._codes: dict[tuple[str, str], CodeType] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        """Fill a bucket with what was compiled from the same text, if anything was."""
        bucket.code = self._codes.get((bucket.key, bucket.checksum))

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what was compiled."""
        if bucket.code is not None:
            self._codes[bucket.key, bucket.checksum] = bucket.code


def compile_templates_once() -> None:
    """Let all the applications of this process share what was compiled."""
    if not NotebookFlask.jinja_options:
        NotebookFlask.jinja_options = {"bytecode_cache": CompiledOnce()}
