"""Targets: what the notebook has for a pitch."""
