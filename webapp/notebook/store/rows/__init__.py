"""The rows of the database, declared for SQLAlchemy."""
