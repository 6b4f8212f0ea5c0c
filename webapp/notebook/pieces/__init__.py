"""Pieces: what a part asks of the notebook."""
