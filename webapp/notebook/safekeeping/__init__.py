"""Backup, restore, check and the bin."""
