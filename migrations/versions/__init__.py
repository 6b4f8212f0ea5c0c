"""One module a migration, oldest first by its number."""
