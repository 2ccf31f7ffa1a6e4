"""What can happen, and the chain that keeps it.

Theory. The ledger is a list of events; everything else is worked out from it (``fold``). An event
is never changed and never removed. Event n carries the hash of event n-1, and its own hash covers
every field including its number, so whoever changes, removes, inserts or reorders a row must also
rewrite every row after it, and then the last hash differs from the one printed on any receipt.

The hash of an event is ``core.fingerprints.fingerprint`` (SHA-256 over length-prefixed UTF-8)
over the texts of ``CHAINED``, in that order, headed by ``FORM``; an absent number is the empty
text. ``data`` is the JSON text as stored. Nothing in an event is secret: cuts and pins are sealed
elsewhere, and the event holds the SHA-256 of the sealed bytes.

Must stay in sync: a field added to a details class needs a default, because old events lack it.
"""

from dataclasses import dataclass
from enum import Enum
from functools import cache

from pydantic import TypeAdapter

from pinloom.core.fingerprints import fingerprint
from pinloom.ledger import details as d

FORM = "pinloom event 1"
NO_HASH = "0" * 64  # what the first event carries as the hash of the one before
CLOCK_SET_BACK = "clock set back"  # flag of an event dated before the one it follows

#: the fields under the hash, in its order
CHAINED = (
    "seq",
    "at",
    "kind",
    "who",
    "why",
    "system",
    "subject",
    "party",
    "name",
    "data",
    "flag",
    "prev",
)


class EventKind(Enum):
    """Everything that can happen. Values are stored; they never change."""

    OPENED = "ledger opened"
    SITE = "site"
    BUILDING = "building"
    PERSON = "person"
    SIGNATORY = "signatory"
    SIGNATORY_ENDED = "signatory ended"
    SYSTEM = "system"
    ENTERED = "entered"  # a revision with faults
    PROVED = "proved"  # a revision without
    APPROVED = "approved"
    BLANK = "blank"
    RECEIVED = "blanks received"
    SPOILED = "blanks spoiled"
    COUNTED = "blanks counted"
    ORDERED = "ordered"
    CUT = "cut"
    REGISTERED = "registered"  # a key that existed before the ledger did
    ISSUED = "issued"
    SIGNED = "signed"
    RETURNED = "returned"
    OVERDUE = "overdue"
    LOST = "lost"
    FOUND = "found"
    TRUSTED = "trusted again"
    DESTROYED = "destroyed"
    PINNED = "pinned"
    REPINNED = "re-pinned"
    PLACED = "placed"
    DOOR_PLACED = "door placed"
    INVENTORIED = "inventoried"
    CORRECTED = "corrected"
    LIST = "list imported"
    PASSPHRASE = "passphrase changed"  # noqa: S105
    UPGRADED = "upgraded"
    RESTORED = "restored"


#: kind -> the class of its details
DETAILS: dict[EventKind, type[d.Details]] = {
    EventKind.OPENED: d.Opened,
    EventKind.SITE: d.Site,
    EventKind.BUILDING: d.Building,
    EventKind.PERSON: d.Person,
    EventKind.SIGNATORY: d.Signatory,
    EventKind.SIGNATORY_ENDED: d.SignatoryEnded,
    EventKind.SYSTEM: d.System,
    EventKind.ENTERED: d.Revision,
    EventKind.PROVED: d.Revision,
    EventKind.APPROVED: d.Approved,
    EventKind.BLANK: d.BlankNamed,
    EventKind.RECEIVED: d.BlankCount,
    EventKind.SPOILED: d.BlankCount,
    EventKind.COUNTED: d.BlankCount,
    EventKind.ORDERED: d.Ordered,
    EventKind.CUT: d.Cut,
    EventKind.REGISTERED: d.Cut,
    EventKind.ISSUED: d.Issued,
    EventKind.SIGNED: d.Signed,
    EventKind.RETURNED: d.Returned,
    EventKind.OVERDUE: d.Overdue,
    EventKind.LOST: d.Lost,
    EventKind.FOUND: d.Found,
    EventKind.TRUSTED: d.Trusted,
    EventKind.DESTROYED: d.Destroyed,
    EventKind.PINNED: d.Pinned,
    EventKind.REPINNED: d.Pinned,
    EventKind.PLACED: d.Placed,
    EventKind.DOOR_PLACED: d.DoorPlaced,
    EventKind.INVENTORIED: d.Inventoried,
    EventKind.CORRECTED: d.Corrected,
    EventKind.LIST: d.ListImported,
    EventKind.PASSPHRASE: d.Opened,
    EventKind.UPGRADED: d.Upgraded,
    EventKind.RESTORED: d.Restored,
}

Stored = tuple[
    int, str, str, str, str, int | None, int | None, int | None, str, str, str, str, str
]  # one row of the table, ``CHAINED`` and then ``hash``


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One event. ``who`` = the clerk who recorded it; ``at`` = UTC, to the microsecond.

    ``system``, ``subject`` and ``party`` are numbers of what it is about: a number is that of the
    event that brought the thing in, so no two things share one. ``name`` = door or key symbol.
    """

    seq: int
    at: str
    kind: EventKind
    who: str
    why: str
    system: int | None
    subject: int | None
    party: int | None
    name: str
    details: d.Details
    flag: str
    prev: str
    hash: str
    data: str

    @property
    def receipt(self) -> str:
        """The number to print on paper: event and the head of its hash, which anchors the chain."""
        return f"{self.seq}-{self.hash[:16]}"


@cache
def _adapter(kind: EventKind) -> TypeAdapter[d.Details]:
    return TypeAdapter(DETAILS[kind])


def write_details(kind: EventKind, details: d.Details) -> str:
    """The JSON text of an event's details; raises TypeError when they are of another kind."""
    if type(details) is not DETAILS[kind]:
        raise TypeError(f"{kind.value} does not go with {type(details).__name__}")
    return _adapter(kind).dump_json(details).decode("utf-8")


def hash_of(row: tuple[int | str | None, ...]) -> str:
    """The hash of a row given in the order of ``CHAINED``."""
    return fingerprint([FORM, *("" if part is None else str(part) for part in row)])


def read(row: Stored) -> Event | None:
    """The event of a stored row; None when its kind or data is none this program writes."""
    try:
        kind = EventKind(row[2])
        details = _adapter(kind).validate_json(row[9])
    except ValueError:
        return None
    return Event(
        seq=row[0],
        at=row[1],
        kind=kind,
        who=row[3],
        why=row[4],
        system=row[5],
        subject=row[6],
        party=row[7],
        name=row[8],
        details=details,
        data=row[9],
        flag=row[10],
        prev=row[11],
        hash=row[12],
    )


def stored(event: Event) -> Stored:
    """The row of an event."""
    return (
        event.seq,
        event.at,
        event.kind.value,
        event.who,
        event.why,
        event.system,
        event.subject,
        event.party,
        event.name,
        event.data,
        event.flag,
        event.prev,
        event.hash,
    )
