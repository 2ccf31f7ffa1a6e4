"""When a combination that was handed out may be offered again.

Rules. A combination is offered again only when every copy of it is accounted for: back in the
cabinet, or destroyed. It then rests for a time of the user's choice, counted from the day on which
the last copy came back or was destroyed. A copy that is out or lost, a copy number that nobody
recorded, a copy that the last count found otherwise, a combination with a loss that nobody answers
for, and one without any copy on record can never be waited out: somebody may hold such a key. That
every copy is to be accounted for is common practice, no source; the length of the rest is the
shop's own choice.

Pure: days come in, a standing comes out; no clock, no database. Days are dates of the shop's own
calendar, so a rest of 365 days over a leap day ends a day earlier in the month.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

USUAL_REST = 365  # days; the shop's own choice, no source
MOST_REST = 36_500  # days


class Whereabouts(Enum):
    """Where one copy is, as the books have it."""

    CABINET = "in the cabinet"
    OUT = "out"
    LOST = "lost"
    DESTROYED = "destroyed"
    NO_RECORD = "not on record"  # its number is missing among those of the other copies
    DISPUTED = "not as the last count found it"


ACCOUNTED = frozenset({Whereabouts.CABINET, Whereabouts.DESTROYED})


class Offer(Enum):
    """What can be done with a combination."""

    FREE = "free"
    RESTING = "resting"
    NEVER = "never"  # not as long as the books stay as they are


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyPast:
    """One copy of a combination. ``holder`` = who has it, or had it last; ``since`` = the day on
    which it came back or was destroyed, None when it was never out.
    """

    stamp: str
    where: Whereabouts
    holder: str = ""
    since: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """``free_from`` = the first day on which the combination is offered again, None for never and
    for one that never left the shop. ``missing`` = the copies that keep it from being offered;
    ``distrusted`` = a copy was lost, and nobody answers for it since it was found. NEVER with
    neither means that no copy is on record at all.
    """

    offer: Offer
    free_from: date | None = None
    missing: tuple[CopyPast, ...] = ()
    distrusted: bool = False

    @property
    def accounted(self) -> bool:
        """Whether every copy is accounted for."""
        return self.offer is not Offer.NEVER


def standing(
    copies: Sequence[CopyPast], rest: int, today: date, *, distrusted: bool = False
) -> Standing:
    """What can be done with the combination of these copies when it rests ``rest`` days.

    ``distrusted`` = nobody answers for a loss. Raises ValueError for a rest below 0 or above
    ``MOST_REST``.
    """
    if not 0 <= rest <= MOST_REST:
        raise ValueError(f"a rest of {rest} days is none")
    missing = tuple(copy for copy in copies if copy.where not in ACCOUNTED)
    if missing or distrusted or not copies:
        return Standing(offer=Offer.NEVER, missing=missing, distrusted=distrusted)
    back = [copy.since for copy in copies if copy.since is not None]
    if not back:
        return Standing(offer=Offer.FREE)
    free_from = _later(max(back), rest)
    return Standing(offer=Offer.FREE if free_from <= today else Offer.RESTING, free_from=free_from)


def _later(day: date, days: int) -> date:
    """So many days later; the last day there is, where the calendar ends."""
    return day + timedelta(days=min(days, (date.max - day).days))
