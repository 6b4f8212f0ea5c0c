"""Where a database stands, told without loading Alembic: most starts have nothing to migrate.

A migration's file begins with its revision: `v0001_first_notebook.py` is revision 0001.
"""

from pathlib import Path

from sqlalchemy import Engine, inspect, text

import migrations

REVISION_TABLE = "alembic_version"


def newest_revision() -> str:
    """Return the revision of the newest migration."""
    files = (Path(migrations.__file__).parent / "versions").glob("v[0-9]*_*.py")
    return max(file.name.removeprefix("v").partition("_")[0] for file in files)


def current_revision(engine: Engine) -> str | None:
    """Return the revision a database stands at, or None for an empty one."""
    with engine.connect() as connection:
        if not inspect(connection).has_table(REVISION_TABLE):
            return None
        found = connection.execute(text(f"SELECT version_num FROM {REVISION_TABLE}")).scalar()
    return None if found is None else str(found)
