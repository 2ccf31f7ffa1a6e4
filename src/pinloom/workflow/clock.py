"""The one place that reads the clock. What a job holds never depends on it."""

import time
from datetime import UTC, date, datetime


def now() -> datetime:
    """The time of day, UTC."""
    return datetime.now(UTC)


def local_day(when: datetime) -> date:
    """The day at the shop, by this machine's time zone, on which something happened."""
    return when.astimezone().date()


def seconds() -> float:
    """Seconds of a steady clock, for measuring how long something takes."""
    return time.monotonic()
