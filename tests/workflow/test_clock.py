"""The shop's day of an event, by the rules of its time zone."""

import time
from collections.abc import Iterator
from datetime import UTC, date, datetime

import pytest

from pinloom.workflow.clock import local_day


@pytest.fixture
def _zone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The machine in another time zone, given by its rule."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", request.param)
        time.tzset()
        yield
    time.tzset()


@pytest.mark.parametrize(
    ("_zone", "utc", "day"),
    [
        # Five hours behind in winter, four in summer: half past four is another day's.
        ("EST5EDT,M3.2.0,M11.1.0", datetime(2026, 1, 2, 4, 30, tzinfo=UTC), date(2026, 1, 1)),
        ("EST5EDT,M3.2.0,M11.1.0", datetime(2026, 7, 2, 4, 30, tzinfo=UTC), date(2026, 7, 2)),
        ("EST5EDT,M3.2.0,M11.1.0", datetime(2024, 3, 1, 4, 30, tzinfo=UTC), date(2024, 2, 29)),
        # Thirteen hours ahead: the evening of the year's last day is the next year's morning.
        ("XXX-13", datetime(2025, 12, 31, 11, 0, tzinfo=UTC), date(2026, 1, 1)),
        ("XXX-13", datetime(2025, 12, 31, 10, 59, tzinfo=UTC), date(2025, 12, 31)),
        ("UTC0", datetime(2026, 1, 1, 0, 0, tzinfo=UTC), date(2026, 1, 1)),
    ],
    indirect=["_zone"],
)
@pytest.mark.usefixtures("_zone")
def test_the_day_of_an_event_is_the_shop_s(utc: datetime, day: date) -> None:
    """By the offset that held then, whatever holds today."""
    assert local_day(utc) == day
