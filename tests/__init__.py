"""Tests; `tests/run.py` sets up what they need and runs them all."""
