"""Errors in inferring the state of a day.

The tree::

    AnalysisError
    +-- DayError
        +-- NoTuningNotes   a day without tuning notes has no state to infer
"""

from __future__ import annotations

from analysis.errors import AnalysisError


class DayError(AnalysisError):
    """Base of all errors about the state of a day."""


class NoTuningNotes(DayError):
    """A day without tuning notes has no state to infer."""
