"""Compiled templates, addresses and statements: a test process makes hundreds of applications.

Nearly all of the time that an application takes to assemble goes into the compiling of its rules,
and each notebook is an engine of its own, which would compile every statement for itself.
"""

from collections.abc import Callable, MutableMapping
from types import CodeType
from typing import Any, ClassVar

import pytest
from jinja2.bccache import Bucket, BytecodeCache
from sqlalchemy import URL, Engine, create_engine
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.util import LRUCache
from werkzeug.routing import Rule

from webapp.app import NotebookFlask
from webapp.notebook.store import db


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
    _parsed: ClassVar[dict[str, tuple[list[Any], list[Any], dict[str, Any]]]] = {}

    def compile(self) -> None:
        """Take over the parts of an equal rule, or parse the text."""
        key = repr((self.rule, self.subdomain, self.host, self.merge_slashes))
        if key not in self._parsed:
            super().compile()
            self._parsed[key] = (self._parts, self._trace, self._converters)
            return
        parts, trace, converters = self._parsed[key]
        self._parts, self._trace, self._converters = [*parts], [*trace], {**converters}
        self.arguments.update(self._converters)
        self._build = self._compile_builder(False).__get__(self, None)
        self._build_unknown = self._compile_builder(True).__get__(self, None)

    def _compile_builder(self, append_unknown: bool = True) -> Callable[..., tuple[str, str]]:
        key = repr((self.rule, self._trace, self.defaults, append_unknown))
        if key not in self._builders:
            self._builders[key] = super()._compile_builder(append_unknown)
        return self._builders[key]


class OneDialect(SQLiteDialect_pysqlite):
    """The dialect of SQLite, equal to each other of its kind: statements are kept by dialect."""

    supports_statement_cache = True

    def __eq__(self, other: object) -> bool:
        return type(other) is OneDialect

    def __hash__(self) -> int:
        return hash(OneDialect)


STATEMENTS: MutableMapping[Any, Any] = LRUCache(2_000)


def make_engine_that_shares(url: URL, **more: Any) -> Engine:
    """Make an engine; all of SQLite in this process share the statements that were compiled."""
    engine = create_engine(url, **more)
    if engine.dialect.name == "sqlite":
        engine.update_execution_options(compiled_cache=STATEMENTS)
    return engine


def compile_once() -> None:
    """Let all the applications and engines of this process share what was compiled."""
    registry.impls["sqlite"] = registry.impls["sqlite.pysqlite"] = lambda: OneDialect
    pytest.MonkeyPatch().setattr(db, "create_engine", make_engine_that_shares)
    if not NotebookFlask.jinja_options:
        NotebookFlask.jinja_options = {"bytecode_cache": CompiledOnce()}
    NotebookFlask.url_rule_class = RuleCompiledOnce
