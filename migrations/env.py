"""Alembic's entry: runs the migrations on the connection that the notebook's store hands over."""

from alembic import context

from webapp.notebook.store.rows import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    transaction_per_migration=False,
)
with context.begin_transaction():
    context.run_migrations()
