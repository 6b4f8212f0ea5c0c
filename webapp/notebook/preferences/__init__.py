"""The player's preferences."""
