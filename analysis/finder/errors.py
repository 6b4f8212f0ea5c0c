"""Errors in looking for a fingering.

The tree::

    AnalysisError
    +-- FinderError
        +-- FinderUnavailable   nothing is known of this instrument's tube: names those that are
"""

from __future__ import annotations

from analysis.errors import AnalysisError


class FinderError(AnalysisError):
    """Base of all errors about suggesting and predicting fingerings."""


class FinderUnavailable(FinderError):
    """No predictions can be made for this instrument with this keywork."""
