"""Compiled templates and addresses, kept in memory: a test process makes hundreds of applications.

Four fifths of the time that an application takes to assemble go into the compiling of its rules.
"""

from collections.abc import Callable
from types import CodeType
from typing import ClassVar

from jinja2.bccache import Bucket, BytecodeCache
from werkzeug.routing import Rule

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


class RuleCompiledOnce(Rule):
    """A rule that takes over what was compiled for an equal one: text and defaults decide."""

    _builders: ClassVar[dict[str, Callable[..., tuple[str, str]]]] = {}

    def _compile_builder(self, append_unknown: bool = True) -> Callable[..., tuple[str, str]]:
        key = repr((self.rule, self._trace, self.defaults, append_unknown))
        if key not in self._builders:
            self._builders[key] = super()._compile_builder(append_unknown)
        return self._builders[key]


def compile_once() -> None:
    """Let all the applications of this process share what was compiled."""
    if not NotebookFlask.jinja_options:
        NotebookFlask.jinja_options = {"bytecode_cache": CompiledOnce()}
    NotebookFlask.url_rule_class = RuleCompiledOnce
