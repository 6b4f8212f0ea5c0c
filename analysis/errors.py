"""The root of everything that can go wrong in `analysis`.

Each package below keeps its own branch of the tree in its `errors` module::

    AnalysisError
    +-- PitchError      analysis.pitch.errors
    +-- KeyworkError    analysis.keywork.errors
    +-- RecordingError  analysis.recording.errors
    +-- AcousticsError  analysis.acoustics.errors
    +-- FinderError     analysis.finder.errors
    +-- DayError        analysis.day.errors
    +-- ScoreError      analysis.score.errors

The text of every error is a sentence for a musician: what was found, what was expected, what to do.
"""


class AnalysisError(Exception):
    """Base of all errors that the analysis packages raise on purpose."""
