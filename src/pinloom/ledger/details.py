"""What each kind of event says beyond who, when, why and about what.

Dates are ``YYYY-MM-DD`` texts, empty where there is none. ``combination`` numbers the cuts a key
symbol has had: 1 for its first, one more each time they changed; it tells whether two copies are
cut alike and tells nothing about the cuts. ``pinning`` does the same for a door's pins.
"""

from dataclasses import dataclass

from pydantic import ConfigDict


@dataclass(frozen=True, slots=True, kw_only=True)
class Details:
    """Parent of all."""

    __pydantic_config__ = ConfigDict(extra="forbid")


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened(Details):
    """The ledger begins, or has a new passphrase. ``box`` = SHA-256 of the strongbox's text."""

    box: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Site(Details):
    """A site the shop looks after; the event's ``name``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Building(Details):
    """A building (``name``) of a site (``subject``)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person(Details):
    """Somebody who may hold keys; the event's ``name``."""

    organisation: str = ""
    contact: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signatory(Details):
    """``party`` may order restricted blanks for the site ``subject``, on this written authority."""

    authority: str
    until: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatoryEnded(Details):
    """``party`` may no longer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class System(Details):
    """A key system (``name``) of the site ``subject``."""

    site: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorLine:
    """One door of a revision."""

    name: str
    opening: str = ""
    hardware: str = ""
    keyway: str = ""
    core_group: str = ""
    count: int = 1
    pinning: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyLine:
    """One key symbol of a revision. ``limit`` = most copies; None = no limit."""

    name: str
    standing: str
    combination: int = 1
    limit: int | None = None
    blank: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision(Details):
    """A revision of a system came in. ``opens[d]`` = indices of the keys that open ``doors[d]``.

    ``sealed`` = SHA-256 of the sealed cuts and pins; ``mark`` = keyed fingerprint of the same.
    ``chambers`` and ``texts`` (stamped texts of the depths) tell what reads as cuts.
    """

    revision: int
    faults: int
    format: str
    chambers: int
    texts: tuple[str, ...]
    sealed: str
    mark: str
    doors: tuple[DoorLine, ...]
    keys: tuple[KeyLine, ...]
    opens: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Approved(Details):
    """A numbered revision may be cut and issued from: by whom, on what written authority."""

    revision: int
    by: str
    authority: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankNamed(Details):
    """A blank (``name``) the shop keeps."""

    restricted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankCount(Details):
    """So many of the blank ``name``: received, spoiled, or found at a count."""

    pieces: int
    expected: int | None = None  # at a count: what the books said


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordered(Details):
    """``party`` ordered copies of the key ``name``."""

    copies: int
    blank: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut(Details):
    """One copy of the key ``name`` exists from now on; ``subject`` is its number in the ledger."""

    number: int
    stamp: str
    combination: int
    revision: int = 0
    blank: str = ""
    order: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Issued(Details):
    """The copy ``subject`` goes to ``party``. ``out_at`` = when, if not when recorded."""

    due: str = ""
    issuer: str = ""
    issuer_signature: str = ""
    receiver_signature: str = ""
    out_at: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed(Details):
    """Signatures for the issue ``of``: where they are kept, or how they were given."""

    of: int
    issuer_signature: str = ""
    receiver_signature: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned(Details):
    """The copy ``subject`` is back; ``of`` = the event of its issue."""

    of: int
    signature: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Overdue(Details):
    """The copy ``subject`` was due and is not back."""

    of: int
    due: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost(Details):
    """The copy ``subject`` is lost; ``of`` = the event of its issue, if it was out."""

    of: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Found(Details):
    """The copy ``subject`` came back. ``trusted`` = nobody can have copied it meanwhile."""

    trusted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Trusted(Details):
    """A combination of the key ``name`` counts as safe again although a copy was lost."""

    combination: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Destroyed(Details):
    """The copy ``subject`` exists no more."""

    witness: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pinned(Details):
    """The cylinder ``subject`` holds the pins of door ``name`` as of a revision."""

    mark: str
    revision: int
    pinning: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed(Details):
    """The cylinder ``subject`` is at the door ``name``, or, without one, at a place."""

    at: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorPlaced(Details):
    """The door ``name`` is in this building."""

    building: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One difference of an inventory. ``what`` = a ``DifferenceKind`` value."""

    what: str
    mark: str
    books: str = ""
    seen: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Inventoried(Details):
    """The keys and cylinders of a system were counted."""

    keys: int
    cylinders: int
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected(Details):
    """Event ``of`` was recorded wrongly: ``field`` said ``before`` and means ``after``."""

    of: int
    field: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ListImported(Details):
    """A shop's list came in; the events it made follow this one."""

    file: str
    sha256: str
    rows: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Upgraded(Details):
    """The tables were brought to a newer form."""

    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored(Details):
    """The ledger was restored from a backup whose last event was this one."""

    seq: int
    hash: str
