"""Schema of a database as facts that compare, whatever the order in which it was made."""

import re

from sqlalchemy import Connection

Facts = dict[tuple[str, str], tuple[str, ...]]
"""By kind and name: what defines it, the parts of a table in alphabetical order."""

_TABLE = re.compile(r"CREATE TABLE \S+ \( (?P<parts>.*) \)")
_BETWEEN_PARTS = re.compile(r", (?![^()]*\))")  # no comma within parentheses
# PostgreSQL manual, "System Catalogs" and "The Information Schema".
_POSTGRESQL = """
SELECT 'column', table_name || '.' || column_name, concat_ws(' ', data_type,
    character_maximum_length, numeric_precision, is_nullable, column_default)
  FROM information_schema.columns WHERE table_schema = 'public'
UNION ALL SELECT 'constraint', conrelid::regclass::text || '.' || conname, pg_get_constraintdef(oid)
  FROM pg_constraint WHERE connamespace = 'public'::regnamespace
UNION ALL SELECT 'index', indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'
UNION ALL SELECT 'relation ' || relkind::text, relname, '' FROM pg_class
  WHERE relnamespace = 'public'::regnamespace
UNION ALL SELECT 'trigger', tgname, pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
"""


def read_schema(connection: Connection) -> Facts:
    """Return tables, indices, triggers and all that is declared of them."""
    if connection.dialect.name != "sqlite":
        rows = connection.exec_driver_sql(_POSTGRESQL)
        return {(kind, name): (text,) for kind, name, text in rows}
    rows = connection.exec_driver_sql("SELECT type, name, sql FROM sqlite_master")
    return {(kind, name): _take_apart(sql or "") for kind, name, sql in rows}


def _take_apart(sql: str) -> tuple[str, ...]:
    """Split the statement that made a table into its parts; any other one is left as it is."""
    line = " ".join(sql.replace('"', "").split())
    table = _TABLE.fullmatch(line)
    return (line,) if table is None else tuple(sorted(_BETWEEN_PARTS.split(table["parts"])))
