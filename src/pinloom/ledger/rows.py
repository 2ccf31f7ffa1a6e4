"""What is so now, worked out from the events: one frozen row class a table.

``KEY`` names the fields of the primary key. Rows are never removed, only replaced. ``folded`` is a
name without case, for searching.
"""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from enum import Enum
from functools import cache
from typing import Any, ClassVar, TypeVar


class CopyState(Enum):
    """Where a copy of a key is."""

    IN = "in"  # in the shop's or the site's cabinet
    OUT = "out"
    LOST = "lost"
    DESTROYED = "destroyed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Parent of all."""

    KEY: ClassVar[tuple[str, ...]]

    def key(self) -> tuple[int | str, ...]:
        """The values of the primary key."""
        return tuple(getattr(self, name) for name in self.KEY)


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteRow(Row):
    """A site."""

    KEY = ("id",)
    id: int
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingRow(Row):
    """A building of a site."""

    KEY = ("site", "name")
    site: int
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonRow(Row):
    """Somebody who may hold keys."""

    KEY = ("id",)
    id: int
    name: str
    organisation: str
    contact: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatoryRow(Row):
    """Who may order restricted blanks for a site. ``ended`` = when that was taken back."""

    KEY = ("site", "person")
    site: int
    person: int
    authority: str
    until: str
    since: str
    ended: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemRow(Row):
    """A key system. ``latest`` and ``approved`` are revision numbers, 0 for none."""

    KEY = ("id",)
    id: int
    site: int
    name: str
    latest: int
    approved: int
    inventoried: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionRow(Row):
    """A numbered revision. ``sealed`` = the event whose sealed body holds its cuts and pins."""

    KEY = ("system", "number")
    system: int
    number: int
    at: str
    proved: bool
    faults: int
    format: str
    chambers: int
    texts: str  # stamped texts of the depths, separated by blanks
    mark: str
    sealed: int
    approved_at: str
    approved_by: str
    authority: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorRow(Row):
    """A door as one revision has it."""

    KEY = ("system", "revision", "name")
    system: int
    revision: int
    name: str
    opening: str
    hardware: str
    keyway: str
    core_group: str
    count: int
    pinning: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorPlaceRow(Row):
    """The building a door is in."""

    KEY = ("system", "door")
    system: int
    door: str
    building: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyRow(Row):
    """A key symbol as one revision has it. ``copies`` = the limit, -1 for none."""

    KEY = ("system", "revision", "name")
    system: int
    revision: int
    name: str
    standing: str
    combination: int
    copies: int
    blank: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OpensRow(Row):
    """A key opens a door, as one revision has it."""

    KEY = ("system", "revision", "door", "name")
    system: int
    revision: int
    door: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CombinationRow(Row):
    """A combination of a key symbol. ``lost`` = losses of its copies not yet made good."""

    KEY = ("system", "name", "combination")
    system: int
    name: str
    combination: int
    lost: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyRow(Row):
    """One copy of a key. ``issue`` = the open event of issue, 0 where it is not out."""

    KEY = ("id",)
    id: int
    system: int
    name: str
    number: int
    stamp: str
    combination: int
    revision: int
    blank: str
    state: str
    holder: int  # a person; 0 for nobody
    issue: int
    out_at: str
    due: str
    overdue: int  # the event that said so; 0 for none


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow(Row):
    """An order for copies. ``cut`` = how many were made of it."""

    KEY = ("id",)
    id: int
    system: int
    name: str
    person: int
    copies: int
    blank: str
    cut: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderRow(Row):
    """A cylinder or core that was pinned. At ``door``, or, where that is empty, at ``place``."""

    KEY = ("id",)
    id: int
    system: int
    mark: str
    pinned_for: str
    revision: int
    pinning: int
    pinned_at: str
    door: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankRow(Row):
    """Stock of a blank. What is left = received - cut - spoiled + adjusted."""

    KEY = ("name",)
    name: str
    restricted: bool
    received: int
    cut: int
    spoiled: int
    adjusted: int
    counted_at: str

    def left(self) -> int:
        """How many the books say are there."""
        return self.received - self.cut - self.spoiled + self.adjusted


@dataclass(frozen=True, slots=True, kw_only=True)
class LookupRow(Row):
    """A thing by its name, for search. ``kind`` = a ``LookupKind`` value."""

    KEY = ("kind", "system", "ref")
    kind: str
    system: int  # 0 where it has none
    ref: str  # number in the ledger, or the name where it has none
    label: str
    folded: str


class LookupKind(Enum):
    """What a search finds."""

    SITE = "site"
    PERSON = "person"
    SYSTEM = "system"
    KEY = "key"
    COPY = "copy"
    DOOR = "door"
    CYLINDER = "cylinder"
    BLANK = "blank"


#: every state table, in an order in which they may be listed
ROWS: tuple[type[Row], ...] = (
    SiteRow,
    BuildingRow,
    PersonRow,
    SignatoryRow,
    SystemRow,
    RevisionRow,
    DoorRow,
    DoorPlaceRow,
    KeyRow,
    OpensRow,
    CombinationRow,
    CopyRow,
    OrderRow,
    CylinderRow,
    BlankRow,
    LookupRow,
)

R = TypeVar("R", bound=Row)


def made(kind: type[R], values: Iterable[Any]) -> R:
    """The row of a table's values, in the order of its columns."""
    return kind(**dict(zip(_names(kind), values, strict=True)))  # type: ignore[arg-type]


@cache
def _names(kind: type[Row]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))
