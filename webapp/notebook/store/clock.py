"""The one clock of the notebook."""

from datetime import UTC, date, datetime


def now_utc() -> datetime:
    """Return the present moment in UTC."""
    return datetime.now(UTC)


def today() -> date:
    """Return the present day, as a calendar on this machine shows it."""
    return day_of(now_utc())


def day_of(moment: datetime) -> date:
    """Return the day of a moment that has a time zone, as a calendar on this machine shows it."""
    return moment.astimezone().date()
