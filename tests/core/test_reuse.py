"""When a returned combination is free again: days in, a standing out."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pinloom.core.reuse import (
    ACCOUNTED,
    MOST_REST,
    CopyPast,
    Offer,
    Standing,
    Whereabouts,
    standing,
)


def _copy(where: Whereabouts, since: date | None = None, stamp: str = "AA1-1") -> CopyPast:
    return CopyPast(stamp=stamp, where=where, holder="Rigger", since=since)


def _back(since: date | None) -> CopyPast:
    return _copy(Whereabouts.CABINET, since)


@pytest.mark.parametrize(
    ("back", "rest", "free"),
    [
        (date(2024, 2, 28), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 365, date(2025, 2, 28)),
        (date(2024, 2, 29), 366, date(2025, 3, 1)),
        (date(2023, 3, 1), 365, date(2024, 2, 29)),
        (date(2100, 2, 28), 1, date(2100, 3, 1)),  # no leap year
        (date(2026, 3, 2), 0, date(2026, 3, 2)),
        (date(2025, 12, 31), 1, date(2026, 1, 1)),
        (date.max, 5, date.max),  # the calendar ends there
    ],
)
def test_the_rest_is_counted_in_days_of_the_calendar(back: date, rest: int, free: date) -> None:
    """Free on that very day, resting on the day before, over leap days and ends of years."""
    at = standing([_back(back)], rest, free)
    assert (at.offer, at.free_from) == (Offer.FREE, free)
    if free > back:
        before = standing([_back(back)], rest, free - timedelta(days=1))
        assert (before.offer, before.free_from) == (Offer.RESTING, free)


def test_the_last_copy_back_sets_the_day() -> None:
    """Two copies back on different days, one destroyed later still, one that never was out."""
    copies = [
        _back(date(2026, 1, 5)),
        _back(date(2026, 2, 1)),
        _copy(Whereabouts.DESTROYED, date(2026, 2, 20)),
        _back(None),
    ]
    assert standing(copies, 30, date(2026, 3, 1)).free_from == date(2026, 3, 22)


def test_what_never_left_the_shop_needs_no_rest() -> None:
    """Cut and never handed out: free at once, without a day."""
    assert standing([_back(None)], 365, date(2026, 3, 2)) == Standing(offer=Offer.FREE)


@pytest.mark.parametrize("where", [w for w in Whereabouts if w not in ACCOUNTED])
def test_a_copy_that_is_not_accounted_for_is_named(where: Whereabouts) -> None:
    """However long ago the others came back."""
    gone = _copy(where, stamp="AA1-2")
    found = standing([_back(date(1990, 1, 1)), gone], 0, date(2026, 3, 2))
    assert found == Standing(offer=Offer.NEVER, missing=(gone,))


def test_nothing_on_record_is_never_free() -> None:
    """Nobody knows how many copies there are; a distrusted combination is not waited out."""
    assert standing([], 0, date.max) == Standing(offer=Offer.NEVER)
    lost = standing([_back(date(1990, 1, 1))], 0, date.max, distrusted=True)
    assert lost == Standing(offer=Offer.NEVER, distrusted=True)


@pytest.mark.parametrize("rest", [-1, MOST_REST + 1])
def test_a_rest_out_of_bounds_is_refused(rest: int) -> None:
    """Neither a negative rest nor more than a hundred years."""
    with pytest.raises(ValueError, match="is none"):
        standing([], rest, date(2026, 3, 2))


DAYS = st.dates(date(1999, 12, 1), date(2028, 3, 1))
COPIES = st.lists(
    st.builds(_copy, st.sampled_from(Whereabouts), st.none() | DAYS), min_size=0, max_size=5
)


@given(copies=COPIES, rest=st.integers(0, 2000), today=DAYS, later=st.integers(0, 4000))
def test_time_alone_frees_only_what_is_accounted_for(
    copies: list[CopyPast], rest: int, today: date, later: int
) -> None:
    """A copy that is out keeps its combination for ever; a free one stays free as days pass; a
    longer rest never frees earlier."""
    now = standing(copies, rest, today)
    then = standing(copies, rest, today + timedelta(days=later))
    sound = bool(copies) and all(copy.where in ACCOUNTED for copy in copies)
    assert now.accounted == then.accounted == sound
    if now.offer is Offer.FREE:
        assert then.offer is Offer.FREE
    if standing(copies, rest + 1, today).offer is Offer.FREE:
        assert now.offer is Offer.FREE
