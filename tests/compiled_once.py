"""Compiled templates, addresses, statements, migrations: a test process makes hundreds of them.

Nearly all of the time that an application takes to assemble goes into the compiling of its rules,
the first page of each would load its templates and macros anew, and each notebook is an engine of
its own, which would compile every statement for itself.
"""

from collections.abc import Hashable, MutableMapping
from operator import attrgetter
from types import ModuleType
from typing import Any, ClassVar

import pytest
from flask import current_app, url_for
from flask.templating import Environment
from sqlalchemy import URL, Engine, create_engine
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.util import LRUCache
from werkzeug.local import LocalProxy
from werkzeug.routing import Map, Rule, RuleFactory
from werkzeug.routing.matcher import StateMachineMatcher

from webapp.app import NotebookFlask
from webapp.notebook.store import db

_facts_of = attrgetter(
    "rule", "endpoint", "subdomain", "host", "build_only", "strict_slashes", "merge_slashes",
    "alias", "websocket", "redirect_to",
)  # fmt: skip


class MapCompiledOnce(Map):
    """Addresses that take over what was compiled of equal ones, at the first question."""

    _known: ClassVar[dict[Hashable, tuple[StateMachineMatcher, dict[Any, list[Rule]]]]] = {}

    def __init__(self, *rules: Any, **settings: Any) -> None:
        self._waiting: list[Rule] = []
        super().__init__(*rules, **settings)

    def add(self, rulefactory: RuleFactory) -> None:
        """Keep rules until somebody asks."""
        self._waiting.extend(rulefactory.get_rules(self))
        self._remap = True

    def update(self) -> None:
        """Take over the compiled rules of an equal map, or compile them."""
        if not self._remap:
            return
        key = tuple(
            (_facts_of(each), frozenset(each.methods or ()), repr(each.defaults))
            for each in self._waiting
        )
        if key not in self._known:
            self._matcher, self._rules_by_endpoint = StateMachineMatcher(self.merge_slashes), {}
            for each in self._waiting:
                each.bind(self, rebind=True)
                if not each.build_only:
                    self._matcher.add(each)
                self._rules_by_endpoint.setdefault(each.endpoint, []).append(each)
            super().update()
            self._known[key] = (self._matcher, self._rules_by_endpoint)
        self._matcher, self._rules_by_endpoint = self._known[key]
        self._remap = False


def share_templates() -> None:
    """Let all applications read templates from the environment that the first one made.

    What of it belongs to one application is asked of the one that answers.
    """
    make = NotebookFlask.create_jinja_environment
    made: list[Environment] = []

    def share(app: NotebookFlask) -> Environment:
        if not made:
            made.append(make(app))
            made[0].globals.update(config=LocalProxy(lambda: current_app.config), url_for=url_for)
        return made[0]

    pytest.MonkeyPatch().setattr(NotebookFlask, "create_jinja_environment", share)


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
    if NotebookFlask.url_map_class is not MapCompiledOnce:
        NotebookFlask.url_map_class = MapCompiledOnce
        share_templates()


def load_migrations_once() -> None:
    """Let all upgrades of this process share the modules of the migrations, but not `env.py`.

    Alembic would execute each of them anew for every notebook that it looks at.
    """
    from alembic import util

    load, loaded = util.load_python_file, dict[tuple[object, object], ModuleType]()

    def share(folder: str, name: str) -> ModuleType:
        if name == "env.py":  # it is what migrates
            return load(folder, name)
        if (folder, name) not in loaded:
            loaded[folder, name] = load(folder, name)
        return loaded[folder, name]

    pytest.MonkeyPatch().setattr(util, "load_python_file", share)
