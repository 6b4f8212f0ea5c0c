"""Alembic migrations: the only way the database is ever made or changed."""
