"""Alembic's entry: runs the migrations on the connection that the notebook's store hands over.

A released migration stays as it is. What one of them says in words that SQLite alone understands is
said here once more for PostgreSQL, where a number is no truth value.
"""

from alembic import context
from sqlalchemy import Connection, event

from webapp.notebook.store.rows import Base

FOR_POSTGRESQL = {
    "UPDATE tuning_note SET is_left_out = 1 ": "UPDATE tuning_note SET is_left_out = true "
}


def _say_for_postgresql(
    connection: Connection, cursor: object, statement: str, parameters: object, *_: object
) -> tuple[str, object]:
    del connection, cursor
    for written, said in FOR_POSTGRESQL.items():
        if statement.startswith(written):
            statement = said + statement.removeprefix(written)
    return statement, parameters


connection = context.config.attributes["connection"]
if connection.dialect.name == "postgresql":
    event.listen(connection, "before_cursor_execute", _say_for_postgresql, retval=True)
context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    render_as_batch=True,
    transaction_per_migration=False,
)
with context.begin_transaction():
    context.run_migrations()
