"""The one place that reads the clock. What a job holds never depends on it."""

import time
from datetime import UTC, datetime


def now() -> datetime:
    """The time of day, UTC."""
    return datetime.now(UTC)


def seconds() -> float:
    """Seconds of a steady clock, for measuring how long something takes."""
    return time.monotonic()
