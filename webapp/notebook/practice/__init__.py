"""Practice: its list, the stand, the tuning note and what it brought."""
