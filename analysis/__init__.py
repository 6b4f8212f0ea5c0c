"""Pure computation: pitch, keywork, recordings. No web, database, clock or environment."""
