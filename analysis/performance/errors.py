"""Refusals about performances, each a sentence."""

from analysis.errors import AnalysisError


class NoLoop(AnalysisError):
    """A recording that is no slur back and forth between the two notes it was played for."""
