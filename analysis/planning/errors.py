"""Refusals of the planner, each a sentence."""

from analysis.errors import AnalysisError


class PlanningError(AnalysisError):
    """Something can't be planned as it was asked for."""


class NoTrill(PlanningError):
    """Two notes that make no trill or tremolo."""
