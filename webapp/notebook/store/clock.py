"""The one clock of the notebook."""

from datetime import UTC, datetime


def now_utc() -> datetime:
    """Return the present moment in UTC."""
    return datetime.now(UTC)
