"""Schema of a fresh notebook: made at once from the rows, as at the newest revision.

An empty database needs no migration, and Alembic is not loaded for it. What the migrations make
beside the tables of the rows is Alembic's own table and the first line of the log of changes. That
the two ways lead to the same schema is tested on both engines.
"""

import secrets

from sqlalchemy import (
    Column,
    Connection,
    Engine,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    insert,
    inspect,
)

from webapp.notebook.store import postgresql
from webapp.notebook.store.rows import Base, RowChange
from webapp.notebook.store.rows.base import name_conditions_for_postgresql
from webapp.notebook.store.schema import REVISION_TABLE, newest_revision

# As Alembic makes it.
_REVISIONS = Table(
    REVISION_TABLE,
    MetaData(),
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)


def create_schema(engine: Engine) -> bool:
    """Make all tables of the newest revision in a database that has none, in one transaction.

    Returns:
        False where there are some, such as those that another program made meanwhile.
    """
    is_sqlite = engine.dialect.name == "sqlite"
    if not is_sqlite:
        name_conditions_for_postgresql()
    with engine.connect() as connection:
        if is_sqlite:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        else:
            postgresql.queue_writers(connection, is_patient=True)
        if inspect(connection).has_table(REVISION_TABLE):
            return False
        _make_tables(connection)
        connection.commit()
    return True


def _make_tables(connection: Connection) -> None:
    Base.metadata.create_all(connection, checkfirst=False)
    _REVISIONS.create(connection, checkfirst=False)
    connection.execute(insert(_REVISIONS).values(version_num=newest_revision()))
    first = {"stamp": secrets.token_hex(8), "table_name": RowChange.__tablename__, "row_id": None}
    connection.execute(insert(RowChange).values(first))
